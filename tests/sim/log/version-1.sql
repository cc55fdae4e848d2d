PRAGMA application_id = 1886154343;
PRAGMA foreign_keys=OFF;
BEGIN TRANSACTION;
CREATE TABLE entry (
  number INTEGER PRIMARY KEY AUTOINCREMENT,
  key TEXT NOT NULL UNIQUE CHECK (length(key) = 32),
  kind TEXT NOT NULL,
  at TEXT NOT NULL CHECK (length(at) = 20)
) STRICT;
INSERT INTO entry VALUES(1,'6d8d11cd2fdae5eb32d37a392a6c3d60','fork','2026-11-26T23:58:25Z');
INSERT INTO entry VALUES(2,'98b9f030963b58e5e2d246fa31fd9c11','rider','2026-11-26T23:58:25Z');
INSERT INTO entry VALUES(3,'a0ab23035bda3c58dae4918ee3b32d59','setting','2026-11-26T23:58:25Z');
INSERT INTO entry VALUES(4,'becf18841015142d7ee76866631ab031','reading','2026-11-26T23:58:25Z');
INSERT INTO entry VALUES(5,'74fb4590e4d40d5e6270af0c3865add6','reading','2026-11-26T23:58:25Z');
INSERT INTO entry VALUES(6,'c0579d5bd51f6957a214b1e0b1242e28','prediction','2026-11-26T23:58:25Z');
INSERT INTO entry VALUES(7,'da97f0c35de80992eb3ecc85a030f107','ride','2026-11-26T23:58:25Z');
INSERT INTO entry VALUES(8,'3ede119b6988487df4b27228f3cfd60b','undo','2026-11-26T23:58:26Z');
CREATE TABLE quantity (
  entry INTEGER NOT NULL REFERENCES entry (number),
  name TEXT NOT NULL,
  value REAL NOT NULL CHECK (abs(value) <= 1e+30),
  PRIMARY KEY (entry, name)
) STRICT, WITHOUT ROWID;
INSERT INTO quantity VALUES(2,'rider.front_share',0.4000000000000000222);
INSERT INTO quantity VALUES(2,'rider.mass',76.0);
INSERT INTO quantity VALUES(3,'fork.pressure',496422.52510812197576);
INSERT INTO quantity VALUES(3,'fork.spacers',1.0);
INSERT INTO quantity VALUES(5,'fork.pressure',482633.01052178523968);
INSERT INTO quantity VALUES(6,'travel_max',0.13900000000000001243);
CREATE TABLE bike (
  number INTEGER PRIMARY KEY REFERENCES entry (number),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  file TEXT CHECK (length(file) BETWEEN 1 AND 1000000),
  remarks TEXT CHECK (length(remarks) BETWEEN 1 AND 10000)
) STRICT;
CREATE TABLE rider (
  number INTEGER PRIMARY KEY REFERENCES entry (number),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  file TEXT CHECK (length(file) BETWEEN 1 AND 1000000),
  remarks TEXT CHECK (length(remarks) BETWEEN 1 AND 10000)
) STRICT;
INSERT INTO rider VALUES(2,'hazel',NULL,NULL);
CREATE TABLE fork (
  number INTEGER PRIMARY KEY REFERENCES entry (number),
  name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  file TEXT CHECK (length(file) BETWEEN 1 AND 1000000),
  remarks TEXT CHECK (length(remarks) BETWEEN 1 AND 10000)
) STRICT;
INSERT INTO fork VALUES(1,'teasel',replace('type = "fork"\nformat = [1, 0]\nnote = "Kestrel Hollow''s all-round fork. Invented: no maker, no model."\nname = "teasel 150"\ntravel = "150 mm"\nunsprung_mass = "3.8 kg"\nspacers = 1\nspacer_limit = 5\npressure = "85 psi"\npressure_limit = "150 psi"\n\n[air]\nmain_volume = "198 cm3"\nmain_area = "7.5 cm2"\nnegative_volume = "15 cm3"\nnegative_area = "6.7 cm2"\nspacer_volume = "9 cm3"\noil_volume = "3 cm3"\nport_position = "6 mm"\n\n[compression]\nclicks = 8\nknee = "0.25 m/s"\nclick_table = [\n  {clicks = 0, low_speed = "850 N.s/m", high_speed = "260 N.s/m"},\n  {clicks = 6, low_speed = "400 N.s/m", high_speed = "190 N.s/m"},\n  {clicks = 15, low_speed = "180 N.s/m", high_speed = "140 N.s/m"},\n]\n\n[rebound]\nclicks = 9\nknee = "0.4 m/s"\nclick_table = [\n  {clicks = 0, low_speed = "1450 N.s/m", high_speed = "900 N.s/m"},\n  {clicks = 8, low_speed = "750 N.s/m", high_speed = "480 N.s/m"},\n  {clicks = 18, low_speed = "420 N.s/m", high_speed = "300 N.s/m"},\n]\n\n[stops]\nbumper_length = "10 mm"\nbumper_stiffness = "30 N/mm"\nbumper_cubic = "1e9 N/m3"\n','\n',char(10)),NULL);
CREATE TABLE setting (
  number INTEGER PRIMARY KEY REFERENCES entry (number),
  name TEXT CHECK (length(name) BETWEEN 1 AND 200),
  fork INTEGER NOT NULL REFERENCES fork (number),
  rider INTEGER REFERENCES rider (number),
  bike INTEGER REFERENCES bike (number),
  parent INTEGER REFERENCES setting (number),
  remarks TEXT CHECK (length(remarks) BETWEEN 1 AND 10000)
) STRICT;
INSERT INTO setting VALUES(3,'as it came',1,2,NULL,NULL,NULL);
CREATE TABLE ride (
  number INTEGER PRIMARY KEY REFERENCES entry (number),
  setting INTEGER NOT NULL REFERENCES setting (number),
  scene TEXT CHECK (length(scene) BETWEEN 1 AND 10000),
  ring REAL CHECK (abs(ring) <= 1e+30),
  bottom_outs INTEGER CHECK (bottom_outs BETWEEN 0 AND 1000),
  remarks TEXT CHECK (length(remarks) BETWEEN 1 AND 10000)
) STRICT;
INSERT INTO ride VALUES(7,3,'drop',0.14099999999999998645,NULL,NULL);
CREATE TABLE reading (
  number INTEGER PRIMARY KEY REFERENCES entry (number),
  what TEXT NOT NULL CHECK (length(what) BETWEEN 1 AND 10000),
  fork INTEGER NOT NULL REFERENCES fork (number),
  setting INTEGER REFERENCES setting (number),
  value REAL NOT NULL CHECK (abs(value) <= 1e+30),
  value_unit TEXT NOT NULL,
  spread REAL CHECK (abs(spread) <= 1e+30),
  spread_unit TEXT,
  travel REAL CHECK (abs(travel) <= 1e+30),
  load REAL CHECK (abs(load) <= 1e+30),
  instrument TEXT CHECK (length(instrument) BETWEEN 1 AND 10000),
  remarks TEXT CHECK (length(remarks) BETWEEN 1 AND 10000)
) STRICT;
INSERT INTO reading VALUES(4,'sag',1,3,0.033000000000000001554,'m',0.0020000000000000000416,'m',NULL,30.0,'ruler',NULL);
INSERT INTO reading VALUES(5,'pressure at full travel',1,NULL,1282424.8565293150022,'Pa',NULL,NULL,0.14999999999999999444,NULL,NULL,NULL);
CREATE TABLE prediction (
  number INTEGER PRIMARY KEY REFERENCES entry (number),
  setting INTEGER REFERENCES setting (number),
  ride INTEGER REFERENCES ride (number),
  scene TEXT CHECK (length(scene) BETWEEN 1 AND 10000),
  file TEXT CHECK (length(file) BETWEEN 1 AND 10000),
  history TEXT CHECK (length(history) BETWEEN 1 AND 10000),
  program TEXT CHECK (length(program) BETWEEN 1 AND 10000),
  remarks TEXT CHECK (length(remarks) BETWEEN 1 AND 10000)
) STRICT;
INSERT INTO prediction VALUES(6,3,NULL,'drop',NULL,NULL,NULL,NULL);
CREATE TABLE note (
  number INTEGER PRIMARY KEY REFERENCES entry (number),
  text TEXT NOT NULL CHECK (length(text) BETWEEN 1 AND 10000),
  about INTEGER REFERENCES entry (number)
) STRICT;
CREATE TABLE undo (
  number INTEGER PRIMARY KEY REFERENCES entry (number),
  entry INTEGER NOT NULL REFERENCES entry (number)
) STRICT;
INSERT INTO undo VALUES(8,7);
CREATE TABLE redo (
  number INTEGER PRIMARY KEY REFERENCES entry (number),
  undo INTEGER NOT NULL REFERENCES undo (number)
) STRICT;
CREATE TRIGGER entry_UPDATE BEFORE UPDATE ON entry BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER entry_DELETE BEFORE DELETE ON entry BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER quantity_UPDATE BEFORE UPDATE ON quantity BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER quantity_DELETE BEFORE DELETE ON quantity BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER bike_UPDATE BEFORE UPDATE ON bike BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER bike_DELETE BEFORE DELETE ON bike BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER rider_UPDATE BEFORE UPDATE ON rider BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER rider_DELETE BEFORE DELETE ON rider BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER fork_UPDATE BEFORE UPDATE ON fork BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER fork_DELETE BEFORE DELETE ON fork BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER setting_UPDATE BEFORE UPDATE ON setting BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER setting_DELETE BEFORE DELETE ON setting BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER ride_UPDATE BEFORE UPDATE ON ride BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER ride_DELETE BEFORE DELETE ON ride BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER reading_UPDATE BEFORE UPDATE ON reading BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER reading_DELETE BEFORE DELETE ON reading BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER prediction_UPDATE BEFORE UPDATE ON prediction BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER prediction_DELETE BEFORE DELETE ON prediction BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER note_UPDATE BEFORE UPDATE ON note BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER note_DELETE BEFORE DELETE ON note BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER undo_UPDATE BEFORE UPDATE ON undo BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER undo_DELETE BEFORE DELETE ON undo BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER redo_UPDATE BEFORE UPDATE ON redo BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
CREATE TRIGGER redo_DELETE BEFORE DELETE ON redo BEGIN
  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');
END;
COMMIT;
PRAGMA user_version = 1;
