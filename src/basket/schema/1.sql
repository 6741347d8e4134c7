-- Version 1. Numbers that end in `_day` are days after 1 January 1970 where the person is; moments are seconds after it (UTC).

-- What the workbasket knows of itself: one row.
CREATE TABLE basket (
    only_one INTEGER PRIMARY KEY CHECK (only_one = 1),
    -- The clock of ticks: the highest counter that any device has used.
    counter INTEGER NOT NULL,
    -- Rises with every change that is kept: what is newer than what somebody saw is found by it.
    changes INTEGER NOT NULL
) STRICT;
INSERT INTO basket VALUES (1, 0, 0);

-- Devices that tick: this computer's commands, windows of the page, a tablet.
CREATE TABLE device (
    number INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE
) STRICT;

-- Photos and pictures: files in the folder `photos`, named by the SHA-256 of their bytes.
CREATE TABLE photo (
    sha256 TEXT PRIMARY KEY,
    -- What its file was called when it came.
    name TEXT NOT NULL,
    bytes INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Only in a file that is given to another machine: the photos' bytes, so that one file holds all.
CREATE TABLE packed_photo (
    sha256 TEXT PRIMARY KEY REFERENCES photo (sha256),
    bytes BLOB NOT NULL
) STRICT;

-- Pieces on the go, with a chart here or without.
CREATE TABLE piece (
    number INTEGER PRIMARY KEY,
    -- What it is called by commands and pages: letters drawn at random.
    id TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    -- A picture of it, where it has no chart.
    picture TEXT REFERENCES photo (sha256),
    -- With its marks, such as a key beneath.
    columns INTEGER,
    rows INTEGER,
    -- Of the cloth, as people write it: `14`, `28/2`.
    count TEXT,
    threads INTEGER,
    -- Crosses to work in all, and how many of them are done.
    stitches INTEGER,
    done INTEGER NOT NULL,
    kept INTEGER NOT NULL,
    -- When something was last done to it.
    last_day INTEGER,
    -- Rises with every change of its chart or of this row; whoever changes it says which they saw.
    revision INTEGER NOT NULL,
    -- What basket.changes was after the last change, ticks among them.
    changed INTEGER NOT NULL
) STRICT;
CREATE INDEX piece_changed ON piece (changed);

-- Begun, put down, taken up again, finished.
CREATE TABLE turn (
    number INTEGER PRIMARY KEY,
    piece INTEGER NOT NULL REFERENCES piece (number) ON DELETE CASCADE,
    on_day INTEGER NOT NULL,
    what TEXT NOT NULL CHECK (what IN ('begun', 'put-down', 'taken-up', 'finished'))
) STRICT;
CREATE INDEX turn_piece ON turn (piece);

-- The charts of pieces.
CREATE TABLE chart (
    piece INTEGER PRIMARY KEY REFERENCES piece (number) ON DELETE CASCADE,
    -- Its id, revision and fingerprint.
    stamp TEXT NOT NULL,
    -- The document with its steps, packed.
    document BLOB NOT NULL,
    -- What is to be worked, as the desk reckoned it when the chart was kept, packed.
    work BLOB NOT NULL,
    -- Base cells that a mark covers, as runs.
    hidden BLOB NOT NULL,
    -- A small picture of it, as PNG.
    picture BLOB NOT NULL,
    -- The form that its base cells have.
    form INTEGER NOT NULL,
    -- The file that it was copied from, and what was in it then.
    file TEXT,
    file_stamp TEXT
) STRICT;

-- What base cells and needles a chart has had while ticks were made; the first is 1.
CREATE TABLE form (
    piece INTEGER NOT NULL REFERENCES piece (number) ON DELETE CASCADE,
    number INTEGER NOT NULL,
    columns INTEGER NOT NULL,
    rows INTEGER NOT NULL,
    -- A byte a cell: the needle, 255 where bare; packed.
    cells BLOB NOT NULL,
    -- What each needle is, as JSON.
    needles TEXT NOT NULL,
    -- Where the cells of the form before went, as JSON.
    moved TEXT,
    PRIMARY KEY (piece, number)
) STRICT;

-- The needles that something was worked in.
CREATE TABLE worked (
    piece INTEGER NOT NULL REFERENCES piece (number) ON DELETE CASCADE,
    number INTEGER NOT NULL CHECK (number BETWEEN 1 AND 32767),
    needle TEXT NOT NULL,
    PRIMARY KEY (piece, number),
    UNIQUE (piece, needle)
) STRICT, WITHOUT ROWID;

-- What became of the base cells, some rows together: two bytes a cell, packed. 0 is not done, else worked.number, and
-- 32768 more where it must be taken out again. Rows that are not here have nothing done.
CREATE TABLE band (
    piece INTEGER NOT NULL REFERENCES piece (number) ON DELETE CASCADE,
    number INTEGER NOT NULL,
    states BLOB NOT NULL,
    PRIMARY KEY (piece, number)
) STRICT;

-- What was done on cells that a change of the chart took away: of all cells of the form before it, as in `band`, but
-- those that stayed are 0. It is there again where that change is taken back.
CREATE TABLE parked (
    piece INTEGER NOT NULL REFERENCES piece (number) ON DELETE CASCADE,
    form INTEGER NOT NULL,
    states BLOB NOT NULL,
    PRIMARY KEY (piece, form)
) STRICT;

-- Ticks, the last writer of a cell winning by (counter, device). A tick is known by its device and counter.
CREATE TABLE tick (
    counter INTEGER NOT NULL,
    device INTEGER NOT NULL REFERENCES device (number),
    piece INTEGER NOT NULL REFERENCES piece (number) ON DELETE CASCADE,
    -- The form that it was made on.
    form INTEGER NOT NULL,
    at INTEGER NOT NULL,
    on_day INTEGER NOT NULL,
    done INTEGER NOT NULL CHECK (done IN (0, 1)),
    -- The id of a mark, or NULL where cells are ticked.
    mark TEXT,
    -- Base cells of that form as runs, or NULL where a mark is ticked.
    cells BLOB,
    PRIMARY KEY (counter, device)
) STRICT, WITHOUT ROWID;

-- Marks of charts, what working them takes, and whether they are done.
CREATE TABLE mark (
    piece INTEGER NOT NULL REFERENCES piece (number) ON DELETE CASCADE,
    id TEXT NOT NULL,
    crosses INTEGER NOT NULL,
    -- What was asked for, as JSON without names: where this changes, what was worked is another.
    recipe TEXT NOT NULL,
    -- 1 while the chart has it.
    here INTEGER NOT NULL CHECK (here IN (0, 1)),
    done INTEGER NOT NULL CHECK (done IN (0, 1)),
    -- The recipe that was worked.
    done_recipe TEXT,
    -- Of the tick that said so: 0 and an empty name where there is none.
    counter INTEGER NOT NULL,
    device TEXT NOT NULL,
    PRIMARY KEY (piece, id)
) STRICT, WITHOUT ROWID;

-- How many stitches more were done at the end of a day than at its beginning.
CREATE TABLE day (
    piece INTEGER NOT NULL REFERENCES piece (number) ON DELETE CASCADE,
    on_day INTEGER NOT NULL,
    stitches INTEGER NOT NULL,
    PRIMARY KEY (piece, on_day)
) STRICT, WITHOUT ROWID;

-- Sittings and notes, written down here or taken from a table.
CREATE TABLE sitting (
    number INTEGER PRIMARY KEY,
    piece INTEGER REFERENCES piece (number) ON DELETE CASCADE,
    on_day INTEGER NOT NULL,
    -- Minutes after midnight.
    began INTEGER,
    minutes INTEGER,
    -- Stitches that were counted and not ticked.
    stitches INTEGER,
    note TEXT NOT NULL
) STRICT;
CREATE INDEX sitting_day ON sitting (on_day);

-- Printings: what each page showed.
CREATE TABLE printing (
    number INTEGER PRIMARY KEY,
    piece INTEGER NOT NULL REFERENCES piece (number) ON DELETE CASCADE,
    at INTEGER NOT NULL,
    stamp TEXT NOT NULL,
    -- Of each sheet the columns and rows it shows, as JSON.
    pages TEXT NOT NULL
) STRICT;
CREATE INDEX printing_piece ON printing (piece);

-- Shade cards, as the text that they were read from.
CREATE TABLE card (
    name TEXT PRIMARY KEY,
    text BLOB NOT NULL
) STRICT, WITHOUT ROWID;

-- What lies in the box of threads.
CREATE TABLE box (
    -- As codes are compared: without capitals and spaces.
    code TEXT PRIMARY KEY,
    -- As it was written.
    written TEXT NOT NULL,
    -- Whole skeins, skeins begun, and what is left of these, in skeins: decimals as text.
    owned TEXT NOT NULL,
    opened INTEGER NOT NULL,
    left_over TEXT NOT NULL
) STRICT, WITHOUT ROWID;
