"""Joins a job to its record and its talk: words in, facts committed, sentences and the next prompt out."""
