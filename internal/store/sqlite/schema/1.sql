-- A sum is the SHA-256 of the table's name and the row's other columns in their
-- order, each written as its length in decimal, a colon, and its bytes; numbers
-- in decimal.

-- The logs, numbered from 1 without a gap.
CREATE TABLE log (
	id   INTEGER PRIMARY KEY,
	name TEXT NOT NULL UNIQUE,
	sum  BLOB NOT NULL
);

-- The entries of all logs in one tree: at is the log's id × 2^32 + the entry's
-- number, so that an append fills one page and a log is read in a row. A log's
-- size is its last entry's number. hash is the line's, as RFC 6962 has it.
CREATE TABLE entry (
	at   INTEGER PRIMARY KEY,
	hash BLOB NOT NULL,
	line BLOB NOT NULL
);

CREATE TABLE blob (
	sha256 BLOB PRIMARY KEY NOT NULL,
	bytes  BLOB NOT NULL
);

-- What may be thrown away.
CREATE TABLE derived (
	log   TEXT PRIMARY KEY NOT NULL,
	code  TEXT NOT NULL,
	size  INTEGER NOT NULL,
	bytes BLOB NOT NULL,
	sum   BLOB NOT NULL
);

CREATE TABLE secret (
	name  TEXT PRIMARY KEY NOT NULL,
	value TEXT NOT NULL,
	sum   BLOB NOT NULL
);
