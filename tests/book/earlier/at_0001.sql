BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE events (
	id VARCHAR(36) NOT NULL, 
	at DATETIME NOT NULL, 
	zone VARCHAR(64) NOT NULL, 
	who VARCHAR(100) NOT NULL, 
	note TEXT, 
	written_at DATETIME NOT NULL, 
	reason TEXT, 
	doubt TEXT, 
	withdrawn BOOLEAN NOT NULL, 
	supersedes VARCHAR(36), 
	kind VARCHAR(40) NOT NULL, 
	place VARCHAR(100), 
	pot INTEGER, 
	visit_id VARCHAR(36), 
	CONSTRAINT pk_events PRIMARY KEY (id), 
	CONSTRAINT uq_events_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_events_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_events_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_events_supersedes FOREIGN KEY(supersedes) REFERENCES events (id), 
	CONSTRAINT fk_events_visit_id FOREIGN KEY(visit_id) REFERENCES visits (id)
);
INSERT INTO "events" VALUES('event-1','2026-05-01 18:00:00.000000','Pacific/Honolulu','Ann (invented)',NULL,'2026-05-01 18:05:00.250000',NULL,NULL,0,NULL,'leak','West',7,NULL);
CREATE TABLE held_rows (
	id VARCHAR(36) NOT NULL, 
	file TEXT NOT NULL, 
	row_number INTEGER NOT NULL, 
	reason TEXT NOT NULL, 
	cells JSON NOT NULL, 
	who VARCHAR(100) NOT NULL, 
	written_at DATETIME NOT NULL, 
	CONSTRAINT pk_held_rows PRIMARY KEY (id)
);
INSERT INTO "held_rows" VALUES('held-1','may.csv',4,'no such day','{"date": "2026-02-31", "what": "EC", "value": "1,5"}','Ann (invented)','2026-05-01 18:05:00.250000');
CREATE TABLE readings (
	id VARCHAR(36) NOT NULL, 
	at DATETIME NOT NULL, 
	zone VARCHAR(64) NOT NULL, 
	who VARCHAR(100) NOT NULL, 
	note TEXT, 
	written_at DATETIME NOT NULL, 
	reason TEXT, 
	doubt TEXT, 
	withdrawn BOOLEAN NOT NULL, 
	supersedes VARCHAR(36), 
	kind VARCHAR(40) NOT NULL, 
	value DOUBLE NOT NULL, 
	place VARCHAR(100), 
	pot INTEGER, 
	typed TEXT, 
	temperature_c DOUBLE, 
	compensated BOOLEAN NOT NULL, 
	visit_id VARCHAR(36), 
	CONSTRAINT pk_readings PRIMARY KEY (id), 
	CONSTRAINT uq_readings_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_readings_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_readings_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_readings_supersedes FOREIGN KEY(supersedes) REFERENCES readings (id), 
	CONSTRAINT fk_readings_visit_id FOREIGN KEY(visit_id) REFERENCES visits (id)
);
INSERT INTO "readings" VALUES('reading-1','2026-05-01 18:00:00.000000','Pacific/Honolulu','Ann (invented)',NULL,'2026-05-01 18:05:00.250000',NULL,NULL,0,NULL,'ec',16.0,'East',NULL,'16 mS/cm',27.5,1,'visit-1');
INSERT INTO "readings" VALUES('reading-2','2026-05-01 18:00:00.000000','Pacific/Honolulu','Ann (invented)',NULL,'2026-05-01 18:05:00.250000','decimal point',NULL,0,'reading-1','ec',1.6,'East',NULL,'1.6 mS/cm',27.5,1,'visit-1');
INSERT INTO "readings" VALUES('reading-3','2026-05-01 18:00:00.000000','Pacific/Honolulu','Ann (invented)',NULL,'2026-05-01 18:05:00.250000',NULL,'far above the last',0,NULL,'level',0.123456789012,'East',3,NULL,NULL,0,NULL);
INSERT INTO "readings" VALUES('reading-4','2026-05-01 18:00:00.000000','Pacific/Honolulu','Ann (invented)',NULL,'2026-05-01 18:05:00.250000','of another bench',NULL,1,'reading-3','level',0.123456789012,'East',3,NULL,NULL,0,NULL);
CREATE TABLE top_ups (
	id VARCHAR(36) NOT NULL, 
	at DATETIME NOT NULL, 
	zone VARCHAR(64) NOT NULL, 
	who VARCHAR(100) NOT NULL, 
	note TEXT, 
	written_at DATETIME NOT NULL, 
	reason TEXT, 
	doubt TEXT, 
	withdrawn BOOLEAN NOT NULL, 
	supersedes VARCHAR(36), 
	place VARCHAR(100) NOT NULL, 
	water_l DOUBLE, 
	stock_a_l DOUBLE, 
	stock_b_l DOUBLE, 
	visit_id VARCHAR(36), 
	CONSTRAINT pk_top_ups PRIMARY KEY (id), 
	CONSTRAINT uq_top_ups_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_top_ups_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_top_ups_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_top_ups_supersedes FOREIGN KEY(supersedes) REFERENCES top_ups (id), 
	CONSTRAINT fk_top_ups_visit_id FOREIGN KEY(visit_id) REFERENCES visits (id)
);
INSERT INTO "top_ups" VALUES('topup-1','2026-05-01 18:00:00.000000','Pacific/Honolulu','Ann (invented)',NULL,'2026-05-01 18:05:00.250000',NULL,NULL,0,NULL,'tank',412.5,4.0,NULL,'visit-1');
CREATE TABLE visits (
	id VARCHAR(36) NOT NULL, 
	at DATETIME NOT NULL, 
	zone VARCHAR(64) NOT NULL, 
	who VARCHAR(100) NOT NULL, 
	note TEXT, 
	written_at DATETIME NOT NULL, 
	reason TEXT, 
	doubt TEXT, 
	withdrawn BOOLEAN NOT NULL, 
	supersedes VARCHAR(36), 
	CONSTRAINT pk_visits PRIMARY KEY (id), 
	CONSTRAINT uq_visits_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_visits_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_visits_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_visits_supersedes FOREIGN KEY(supersedes) REFERENCES visits (id)
);
INSERT INTO "visits" VALUES('visit-1','2026-05-01 18:00:00.000000','Pacific/Honolulu','Ann (invented)','mưa lớn, 雨; it''s dry','2026-05-01 18:05:00.250000',NULL,NULL,0,NULL);
CREATE INDEX ix_visits_at ON visits (at);
CREATE TRIGGER visits_no_update BEFORE UPDATE ON visits BEGIN SELECT RAISE(ABORT, 'rows of visits are never changed or deleted: write a correction'); END;
CREATE TRIGGER visits_no_delete BEFORE DELETE ON visits BEGIN SELECT RAISE(ABORT, 'rows of visits are never changed or deleted: write a correction'); END;
CREATE TRIGGER visits_no_replace BEFORE INSERT ON visits WHEN EXISTS (SELECT 1 FROM visits WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of visits are never changed or deleted: write a correction'); END;
CREATE INDEX ix_readings_at ON readings (at);
CREATE TRIGGER readings_no_update BEFORE UPDATE ON readings BEGIN SELECT RAISE(ABORT, 'rows of readings are never changed or deleted: write a correction'); END;
CREATE TRIGGER readings_no_delete BEFORE DELETE ON readings BEGIN SELECT RAISE(ABORT, 'rows of readings are never changed or deleted: write a correction'); END;
CREATE TRIGGER readings_no_replace BEFORE INSERT ON readings WHEN EXISTS (SELECT 1 FROM readings WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of readings are never changed or deleted: write a correction'); END;
CREATE INDEX ix_top_ups_at ON top_ups (at);
CREATE TRIGGER top_ups_no_update BEFORE UPDATE ON top_ups BEGIN SELECT RAISE(ABORT, 'rows of top_ups are never changed or deleted: write a correction'); END;
CREATE TRIGGER top_ups_no_delete BEFORE DELETE ON top_ups BEGIN SELECT RAISE(ABORT, 'rows of top_ups are never changed or deleted: write a correction'); END;
CREATE TRIGGER top_ups_no_replace BEFORE INSERT ON top_ups WHEN EXISTS (SELECT 1 FROM top_ups WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of top_ups are never changed or deleted: write a correction'); END;
CREATE INDEX ix_events_at ON events (at);
CREATE TRIGGER events_no_update BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'rows of events are never changed or deleted: write a correction'); END;
CREATE TRIGGER events_no_delete BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'rows of events are never changed or deleted: write a correction'); END;
CREATE TRIGGER events_no_replace BEFORE INSERT ON events WHEN EXISTS (SELECT 1 FROM events WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of events are never changed or deleted: write a correction'); END;
CREATE TRIGGER held_rows_no_update BEFORE UPDATE ON held_rows BEGIN SELECT RAISE(ABORT, 'rows of held_rows are never changed or deleted: write a correction'); END;
CREATE TRIGGER held_rows_no_delete BEFORE DELETE ON held_rows BEGIN SELECT RAISE(ABORT, 'rows of held_rows are never changed or deleted: write a correction'); END;
CREATE TRIGGER held_rows_no_replace BEFORE INSERT ON held_rows WHEN EXISTS (SELECT 1 FROM held_rows WHERE rowid = NEW.rowid OR id = NEW.id) BEGIN SELECT RAISE(ABORT, 'rows of held_rows are never changed or deleted: write a correction'); END;
COMMIT;
