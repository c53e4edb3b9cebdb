BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0002');
CREATE TABLE cuttings (
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
	batch VARCHAR(100) NOT NULL, 
	lot VARCHAR(100) NOT NULL, 
	pieces INTEGER NOT NULL, 
	kg DOUBLE, 
	knife VARCHAR(100), 
	disinfectant VARCHAR(100), 
	dip_c DOUBLE, 
	dip_minutes DOUBLE, 
	CONSTRAINT pk_cuttings PRIMARY KEY (id), 
	CONSTRAINT uq_cuttings_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_cuttings_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_cuttings_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_cuttings_supersedes FOREIGN KEY(supersedes) REFERENCES cuttings (id)
);
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
CREATE TABLE harvests (
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
	lot VARCHAR(100) NOT NULL, 
	kg DOUBLE NOT NULL, 
	pot VARCHAR(100), 
	place VARCHAR(100), 
	grade VARCHAR(100), 
	cause TEXT, 
	CONSTRAINT pk_harvests PRIMARY KEY (id), 
	CONSTRAINT uq_harvests_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_harvests_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_harvests_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_harvests_supersedes FOREIGN KEY(supersedes) REFERENCES harvests (id)
);
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
CREATE TABLE holds (
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
	lot VARCHAR(100), 
	batch VARCHAR(100), 
	pot VARCHAR(100), 
	place VARCHAR(100), 
	kind VARCHAR(40) NOT NULL, 
	cause TEXT NOT NULL, 
	CONSTRAINT pk_holds PRIMARY KEY (id), 
	CONSTRAINT uq_holds_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_holds_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_holds_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_holds_supersedes FOREIGN KEY(supersedes) REFERENCES holds (id)
);
CREATE TABLE lots (
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
	lot VARCHAR(100) NOT NULL, 
	parents TEXT NOT NULL, 
	generation INTEGER, 
	species VARCHAR(100), 
	cultivar VARCHAR(100), 
	source VARCHAR(100), 
	permit VARCHAR(100), 
	kg DOUBLE, 
	CONSTRAINT pk_lots PRIMARY KEY (id), 
	CONSTRAINT uq_lots_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_lots_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_lots_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_lots_supersedes FOREIGN KEY(supersedes) REFERENCES lots (id)
);
INSERT INTO "lots" VALUES('lot-1','2026-05-01 18:00:00.000000','Pacific/Honolulu','Ann (invented)',NULL,'2026-05-01 18:05:00.250000',NULL,NULL,0,NULL,'G0 plantlets','[]',0,'ginger',NULL,'invented laboratory',NULL,2.0);
INSERT INTO "lots" VALUES('lot-2','2026-05-01 18:00:00.000000','Pacific/Honolulu','Ann (invented)',NULL,'2026-05-01 18:05:00.250000',NULL,NULL,0,NULL,'G1','["G0 plantlets"]',1,'ginger',NULL,NULL,NULL,12.5);
CREATE TABLE moves (
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
	pot VARCHAR(100) NOT NULL, 
	place VARCHAR(100) NOT NULL, 
	"to" VARCHAR(100) NOT NULL, 
	CONSTRAINT pk_moves PRIMARY KEY (id), 
	CONSTRAINT uq_moves_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_moves_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_moves_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_moves_supersedes FOREIGN KEY(supersedes) REFERENCES moves (id)
);
CREATE TABLE plantings (
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
	pot VARCHAR(100) NOT NULL, 
	place VARCHAR(100) NOT NULL, 
	pieces INTEGER NOT NULL, 
	batch VARCHAR(100), 
	lot VARCHAR(100), 
	kg DOUBLE, 
	CONSTRAINT pk_plantings PRIMARY KEY (id), 
	CONSTRAINT uq_plantings_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_plantings_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_plantings_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_plantings_supersedes FOREIGN KEY(supersedes) REFERENCES plantings (id)
);
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
CREATE TABLE shipments (
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
	lot VARCHAR(100) NOT NULL, 
	kg DOUBLE NOT NULL, 
	"to" VARCHAR(100) NOT NULL, 
	permit VARCHAR(100), 
	CONSTRAINT pk_shipments PRIMARY KEY (id), 
	CONSTRAINT uq_shipments_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_shipments_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_shipments_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_shipments_supersedes FOREIGN KEY(supersedes) REFERENCES shipments (id)
);
CREATE TABLE store_checks (
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
	lot VARCHAR(100) NOT NULL, 
	kg DOUBLE NOT NULL, 
	rot_kg DOUBLE NOT NULL, 
	temperature_c DOUBLE, 
	humidity DOUBLE, 
	CONSTRAINT pk_store_checks PRIMARY KEY (id), 
	CONSTRAINT uq_store_checks_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_store_checks_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_store_checks_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_store_checks_supersedes FOREIGN KEY(supersedes) REFERENCES store_checks (id)
);
CREATE TABLE tests (
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
	lot VARCHAR(100), 
	batch VARCHAR(100), 
	pot VARCHAR(100), 
	place VARCHAR(100), 
	agent VARCHAR(100) NOT NULL, 
	result VARCHAR(40) NOT NULL, 
	method VARCHAR(100), 
	lab VARCHAR(100), 
	detection_limit VARCHAR(100), 
	samples INTEGER, 
	pool_size INTEGER, 
	sensitivity DOUBLE, 
	specificity DOUBLE, 
	confirms VARCHAR(36), 
	CONSTRAINT pk_tests PRIMARY KEY (id), 
	CONSTRAINT uq_tests_supersedes UNIQUE (supersedes), 
	CONSTRAINT ck_tests_not_itself CHECK (supersedes <> id), 
	CONSTRAINT ck_tests_reason_given CHECK (supersedes IS NULL OR reason IS NOT NULL), 
	CONSTRAINT fk_tests_supersedes FOREIGN KEY(supersedes) REFERENCES tests (id), 
	CONSTRAINT fk_tests_confirms FOREIGN KEY(confirms) REFERENCES tests (id)
);
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
CREATE INDEX ix_lots_at ON lots (at);
CREATE TRIGGER lots_no_update BEFORE UPDATE ON lots BEGIN SELECT RAISE(ABORT, 'rows of lots are never changed or deleted: write a correction'); END;
CREATE TRIGGER lots_no_delete BEFORE DELETE ON lots BEGIN SELECT RAISE(ABORT, 'rows of lots are never changed or deleted: write a correction'); END;
CREATE TRIGGER lots_no_replace BEFORE INSERT ON lots WHEN EXISTS (SELECT 1 FROM lots WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of lots are never changed or deleted: write a correction'); END;
CREATE INDEX ix_cuttings_at ON cuttings (at);
CREATE TRIGGER cuttings_no_update BEFORE UPDATE ON cuttings BEGIN SELECT RAISE(ABORT, 'rows of cuttings are never changed or deleted: write a correction'); END;
CREATE TRIGGER cuttings_no_delete BEFORE DELETE ON cuttings BEGIN SELECT RAISE(ABORT, 'rows of cuttings are never changed or deleted: write a correction'); END;
CREATE TRIGGER cuttings_no_replace BEFORE INSERT ON cuttings WHEN EXISTS (SELECT 1 FROM cuttings WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of cuttings are never changed or deleted: write a correction'); END;
CREATE INDEX ix_plantings_at ON plantings (at);
CREATE TRIGGER plantings_no_update BEFORE UPDATE ON plantings BEGIN SELECT RAISE(ABORT, 'rows of plantings are never changed or deleted: write a correction'); END;
CREATE TRIGGER plantings_no_delete BEFORE DELETE ON plantings BEGIN SELECT RAISE(ABORT, 'rows of plantings are never changed or deleted: write a correction'); END;
CREATE TRIGGER plantings_no_replace BEFORE INSERT ON plantings WHEN EXISTS (SELECT 1 FROM plantings WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of plantings are never changed or deleted: write a correction'); END;
CREATE INDEX ix_moves_at ON moves (at);
CREATE TRIGGER moves_no_update BEFORE UPDATE ON moves BEGIN SELECT RAISE(ABORT, 'rows of moves are never changed or deleted: write a correction'); END;
CREATE TRIGGER moves_no_delete BEFORE DELETE ON moves BEGIN SELECT RAISE(ABORT, 'rows of moves are never changed or deleted: write a correction'); END;
CREATE TRIGGER moves_no_replace BEFORE INSERT ON moves WHEN EXISTS (SELECT 1 FROM moves WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of moves are never changed or deleted: write a correction'); END;
CREATE INDEX ix_harvests_at ON harvests (at);
CREATE TRIGGER harvests_no_update BEFORE UPDATE ON harvests BEGIN SELECT RAISE(ABORT, 'rows of harvests are never changed or deleted: write a correction'); END;
CREATE TRIGGER harvests_no_delete BEFORE DELETE ON harvests BEGIN SELECT RAISE(ABORT, 'rows of harvests are never changed or deleted: write a correction'); END;
CREATE TRIGGER harvests_no_replace BEFORE INSERT ON harvests WHEN EXISTS (SELECT 1 FROM harvests WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of harvests are never changed or deleted: write a correction'); END;
CREATE INDEX ix_store_checks_at ON store_checks (at);
CREATE TRIGGER store_checks_no_update BEFORE UPDATE ON store_checks BEGIN SELECT RAISE(ABORT, 'rows of store_checks are never changed or deleted: write a correction'); END;
CREATE TRIGGER store_checks_no_delete BEFORE DELETE ON store_checks BEGIN SELECT RAISE(ABORT, 'rows of store_checks are never changed or deleted: write a correction'); END;
CREATE TRIGGER store_checks_no_replace BEFORE INSERT ON store_checks WHEN EXISTS (SELECT 1 FROM store_checks WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of store_checks are never changed or deleted: write a correction'); END;
CREATE INDEX ix_shipments_at ON shipments (at);
CREATE TRIGGER shipments_no_update BEFORE UPDATE ON shipments BEGIN SELECT RAISE(ABORT, 'rows of shipments are never changed or deleted: write a correction'); END;
CREATE TRIGGER shipments_no_delete BEFORE DELETE ON shipments BEGIN SELECT RAISE(ABORT, 'rows of shipments are never changed or deleted: write a correction'); END;
CREATE TRIGGER shipments_no_replace BEFORE INSERT ON shipments WHEN EXISTS (SELECT 1 FROM shipments WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of shipments are never changed or deleted: write a correction'); END;
CREATE INDEX ix_tests_at ON tests (at);
CREATE TRIGGER tests_no_update BEFORE UPDATE ON tests BEGIN SELECT RAISE(ABORT, 'rows of tests are never changed or deleted: write a correction'); END;
CREATE TRIGGER tests_no_delete BEFORE DELETE ON tests BEGIN SELECT RAISE(ABORT, 'rows of tests are never changed or deleted: write a correction'); END;
CREATE TRIGGER tests_no_replace BEFORE INSERT ON tests WHEN EXISTS (SELECT 1 FROM tests WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of tests are never changed or deleted: write a correction'); END;
CREATE INDEX ix_holds_at ON holds (at);
CREATE TRIGGER holds_no_update BEFORE UPDATE ON holds BEGIN SELECT RAISE(ABORT, 'rows of holds are never changed or deleted: write a correction'); END;
CREATE TRIGGER holds_no_delete BEFORE DELETE ON holds BEGIN SELECT RAISE(ABORT, 'rows of holds are never changed or deleted: write a correction'); END;
CREATE TRIGGER holds_no_replace BEFORE INSERT ON holds WHEN EXISTS (SELECT 1 FROM holds WHERE rowid = NEW.rowid OR id = NEW.id OR supersedes = NEW.supersedes) BEGIN SELECT RAISE(ABORT, 'rows of holds are never changed or deleted: write a correction'); END;
COMMIT;
