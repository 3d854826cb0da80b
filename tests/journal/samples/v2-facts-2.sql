BEGIN TRANSACTION;
CREATE TABLE fact (
    job TEXT NOT NULL,
    number INTEGER NOT NULL,
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    version INTEGER NOT NULL,
    body TEXT NOT NULL,
    seal TEXT NOT NULL,
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;
INSERT INTO "fact" VALUES('mower',1,'2026-05-02T09:00:00.123456Z','job-opened',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"job-opened","job":"mower","engine":"old mower","tool":"test","language":"en"}','a7a3834acd3e3615');
INSERT INTO "fact" VALUES('mower',2,'2026-05-02T09:00:01.123456Z','profile-noted',1,'{"at":"2026-05-02T09:00:01.123456Z","type":"profile-noted","field":"kind","word":"motorcycle","number":null,"rest_s":0.0}','6aca3dcb05550472');
INSERT INTO "fact" VALUES('mower',3,'2026-05-02T09:00:02.123456Z','profile-noted',1,'{"at":"2026-05-02T09:00:02.123456Z","type":"profile-noted","field":"displacement","word":null,"number":{"value":650.0,"unit":"ml","kind":"volume","si":0.00065},"rest_s":12.5}','76f16a885dc4ddce');
INSERT INTO "fact" VALUES('twin',1,'2026-05-02T09:00:00.123456Z','job-opened',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"job-opened","job":"twin","engine":"green twin","tool":"0.1.0","language":"en"}','ae033c8f6fca5833');
INSERT INTO "fact" VALUES('twin',2,'2026-05-02T09:00:00.123456Z','place-named',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"place-named","place":"the shed — behind the house"}','606827606596cea6');
INSERT INTO "fact" VALUES('twin',3,'2026-05-02T09:00:00.123456Z','profile-noted',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"profile-noted","field":"kind","word":"motorcycle","number":null,"rest_s":0.0}','dd9d11f19f2d5b66');
INSERT INTO "fact" VALUES('twin',4,'2026-05-02T09:00:00.123456Z','profile-noted',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"profile-noted","field":"displacement","word":null,"number":{"value":650.0,"unit":"ml","kind":"volume","si":0.00065},"rest_s":12.5}','06320d159f4f5caa');
INSERT INTO "fact" VALUES('twin',5,'2026-05-02T09:00:00.123456Z','run-started',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"run-started","run":1,"procedure":"own-work","digest":"0123456789abcdef","why":"plan","parent":null}','c1f704b697a88f04');
INSERT INTO "fact" VALUES('twin',6,'2026-05-02T09:00:00.123456Z','step-entered',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"step-entered","run":1,"state":"crank-1","question":true,"hazards":["cranking"]}','914ee356c25cc386');
INSERT INTO "fact" VALUES('twin',7,'2026-05-02T09:00:00.123456Z','answer-given',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"answer-given","run":1,"state":"look-1","event":"dry","said":"dry and grey","channel":"voice","observe":"plug.look","cylinder":1}','3ba4d8ff9c72f248');
INSERT INTO "fact" VALUES('twin',8,'2026-05-02T09:00:00.123456Z','value-measured',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"value-measured","run":1,"state":"read-1","name":"compression","value":{"value":118.0,"unit":"psi","kind":"pressure","si":813581.3604},"instrument":"compression gauge","resolution":17236.89,"cylinder":1,"judged":{"judge":"compression","word":"low","say":"Low for this engine.","low":830000.0,"high":1130000.0,"unit":"psi","limit":"compression.band","source":"an invented handbook, table 1","mark":"computed","details":["cold","500 m"]},"said":"one one eight","channel":"voice","corrects":3}','95b183ac1f976ac3');
INSERT INTO "fact" VALUES('twin',9,'2026-05-02T09:00:00.123456Z','set-judged',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"set-judged","run":1,"state":"judge","judged":{"judge":"compression","word":"low","say":"Low for this engine.","low":830000.0,"high":1130000.0,"unit":"psi","limit":"compression.band","source":"an invented handbook, table 1","mark":"computed","details":["cold","500 m"]}}','8b205afa5dc9b577');
INSERT INTO "fact" VALUES('twin',10,'2026-05-02T09:00:00.123456Z','step-refused',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"step-refused","run":1,"state":"crank-2","lacking":["fire-ready"],"wait_s":61.5,"reason":"Let it rest."}','872282ce609a18fe');
INSERT INTO "fact" VALUES('twin',11,'2026-05-02T09:00:00.123456Z','crank-began',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"crank-began","run":1,"state":"crank-2","limit_s":5.0}','1e5def6102da439c');
INSERT INTO "fact" VALUES('twin',12,'2026-05-02T09:00:00.123456Z','crank-ended',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"crank-ended","run":1,"seconds":4.75,"sure":false}','16f843a5bb01aa84');
INSERT INTO "fact" VALUES('twin',13,'2026-05-02T09:00:00.123456Z','crank-told',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"crank-told","seconds":5.0,"ago_s":30.0}','6021fa4eeb7e7c29');
INSERT INTO "fact" VALUES('twin',14,'2026-05-02T09:00:00.123456Z','wait-began',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"wait-began","run":1,"state":"cool","seconds":120.0}','d04960b478b3cb5b');
INSERT INTO "fact" VALUES('twin',15,'2026-05-02T09:00:00.123456Z','hold-met',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"hold-met","hold":"fire-ready","by":"fire-readiness"}','ae2eb294de6d1e3f');
INSERT INTO "fact" VALUES('twin',16,'2026-05-02T09:00:00.123456Z','hold-undone',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"hold-undone","hold":"fire-ready","because":"the work moved to another place"}','aabefb25dccf47ea');
INSERT INTO "fact" VALUES('twin',17,'2026-05-02T09:00:00.123456Z','went-back',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"went-back","run":1,"state":"crank-1"}','12d12bd06945cb1d');
INSERT INTO "fact" VALUES('twin',18,'2026-05-02T09:00:00.123456Z','run-ended',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"run-ended","run":1,"procedure":"own-work","result":"low","outcome":"fault","say":"It is low."}','1872c484b4d40399');
INSERT INTO "fact" VALUES('twin',19,'2026-05-02T09:00:00.123456Z','stopped',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"stopped","channel":"pedal"}','746a3359f1bad7bf');
INSERT INTO "fact" VALUES('twin',20,'2026-05-02T09:00:00.123456Z','carried-on',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"carried-on"}','05ee90cd2b139c9b');
INSERT INTO "fact" VALUES('twin',21,'2026-05-02T09:00:00.123456Z','repair-done',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"repair-done","suspect":"ring_gap","success":false,"procedure":"mend-top-end"}','9b20499e19eda17f');
INSERT INTO "fact" VALUES('twin',22,'2026-05-02T09:00:00.123456Z','evidence-staled',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"evidence-staled","observe":"compression","because":"the engine was opened"}','756d23ef18a7406e');
INSERT INTO "fact" VALUES('twin',23,'2026-05-02T09:00:00.123456Z','clock-set',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"clock-set","shift_s":-60.0,"note":"the clock was put forward","withheld_s":60.0}','997cd2951c21be95');
INSERT INTO "fact" VALUES('twin',24,'2026-05-02T09:00:00.123456Z','job-resumed',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"job-resumed","gap_s":86400.0}','c9681b549ccd146d');
INSERT INTO "fact" VALUES('twin',25,'2026-05-02T09:00:00.123456Z','note-added',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"note-added","text":"Ölfleck: \"links\"\nunter dem Zylinder; it''s 12,6 \\ 0"}','a9f335d749e7bb60');
INSERT INTO "fact" VALUES('twin',26,'2026-05-02T09:00:00.123456Z','attachment-kept',2,'{"at":"2026-05-02T09:00:00.123456Z","type":"attachment-kept","attachment":{"sort":"photo","digest":"abababababababababababababababababababababababababababababababab","size":120345,"name":"plug 2.jpg","width":1600,"height":1200,"seconds":null,"taken":"2026-05-02T11:00:00","removed":["where it was taken"]},"text":"the plug of cylinder 2"}','31d20ead0df93d12');
INSERT INTO "fact" VALUES('twin',27,'2026-05-02T09:00:00.123456Z','job-closed',1,'{"at":"2026-05-02T09:00:00.123456Z","type":"job-closed"}','9e76093794994f1d');
CREATE TABLE job (
    job TEXT PRIMARY KEY,
    engine TEXT NOT NULL,
    opened TEXT NOT NULL
) STRICT, WITHOUT ROWID;
INSERT INTO "job" VALUES('mower','old mower','2026-05-02T09:00:00.123456Z');
INSERT INTO "job" VALUES('twin','green twin','2026-05-02T09:00:00.123456Z');
CREATE INDEX entry ON fact (number, job, seal);
CREATE INDEX job_engine ON job (engine);
CREATE TRIGGER job_no_update BEFORE UPDATE ON job BEGIN SELECT RAISE(ABORT, 'jobs are never changed'); END;
CREATE TRIGGER job_no_delete BEFORE DELETE ON job BEGIN SELECT RAISE(ABORT, 'jobs are never removed'); END;
CREATE TRIGGER fact_no_update BEFORE UPDATE ON fact BEGIN SELECT RAISE(ABORT, 'facts are never changed'); END;
CREATE TRIGGER fact_no_delete BEFORE DELETE ON fact BEGIN SELECT RAISE(ABORT, 'facts are never removed'); END;
COMMIT;
PRAGMA user_version = 2;
PRAGMA application_id = 1179866161;
