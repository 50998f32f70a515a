-- What was recorded last, where one commit had entries of many logs: in entry
-- each of them would fill a page of its own. n is the order in which they came,
-- so that a commit fills few pages; at, hash and line are as in entry, where they
-- are moved, all together, before there are many. Of each log they are the last.
CREATE TABLE recent (
	n    INTEGER PRIMARY KEY,
	at   INTEGER NOT NULL UNIQUE,
	hash BLOB NOT NULL,
	line BLOB NOT NULL
);
