-- Version 2: charts that were printed elsewhere, while they are being read.

-- One that is being read, and one that was: then it belongs to a piece, and says how its paper was understood.
CREATE TABLE reading (
    number INTEGER PRIMARY KEY,
    -- As that of a piece.
    id TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    -- Columns and rows of the whole chart, where the person had to say them.
    said_columns INTEGER,
    said_rows INTEGER,
    -- What it came to when it was last looked at: columns, rows, symbols, and how many questions are open; a small picture
    -- as PNG. Nothing where its pages were not laid together yet.
    columns INTEGER,
    rows INTEGER,
    symbols INTEGER,
    open INTEGER,
    picture BLOB,
    begun INTEGER NOT NULL,
    -- The day on which something was last said.
    last_day INTEGER NOT NULL,
    away INTEGER NOT NULL CHECK (away IN (0, 1)),
    -- The piece that it became, and the stamp of the chart as it was kept then.
    piece INTEGER REFERENCES piece (number) ON DELETE SET NULL,
    stamp TEXT
) STRICT;

-- The files with its pages, in order; their bytes are among the photos.
CREATE TABLE reading_file (
    reading INTEGER NOT NULL REFERENCES reading (number) ON DELETE CASCADE,
    number INTEGER NOT NULL,
    sha256 TEXT NOT NULL REFERENCES photo (sha256),
    PRIMARY KEY (reading, number)
) STRICT, WITHOUT ROWID;

-- What the person says of symbols, as JSON. A symbol is known by its outlines, so that its number may change.
CREATE TABLE answer (
    reading INTEGER NOT NULL REFERENCES reading (number) ON DELETE CASCADE,
    sign TEXT NOT NULL,
    said TEXT NOT NULL,
    PRIMARY KEY (reading, sign)
) STRICT, WITHOUT ROWID;
