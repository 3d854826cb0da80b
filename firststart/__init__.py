r"""Guided, hands-free first start of a long-stood engine.

    procedures/*.yaml                                                     scenarios/*.yaml
         |                                                                     |
     procedure/  ->  machine/  ->  job/  ->  prompt/  ->  devices/   or   rehearsal/
      read,          table,        decide,     what to      voice, ears,   virtual engine,
      check          guards        fold, plan  say / hear   screen, pedal  plays the person
                                     |  \
                                 journal/ `->  outcome  ->  diagnosis/  ->  report/
                                 (SQLite)
     under everything, importing nothing of the above:
     errors  units  clock  physics/  engine/  starter/  judge/

Four pure verbs carry everything: `compile_table(procedure)`, `decide(situation, answer, now)` -> facts,
`fold(situation, fact)`, `present(situation)` -> prompt. Facts are committed before anything is spoken.
To resume is to fold.
"""

__version__ = "0.1.0"
