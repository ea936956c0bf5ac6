-- What jobs take from the stock, read off them and rebuilt with them. kind: 0 reserved, 1 used, 2 drop kept.
CREATE TABLE stock_move (
    job    BLOB NOT NULL,
    kind   INTEGER NOT NULL CHECK (kind BETWEEN 0 AND 2),
    stock  TEXT NOT NULL,                   -- what the stock is reserved by
    at     TEXT NOT NULL,                   -- sorts as the reservations came
    count  INTEGER NOT NULL,                -- pieces
    length INTEGER NOT NULL,                -- nanometres of a roll or coil
    person BLOB NOT NULL,
    json   TEXT NOT NULL DEFAULT '',        -- of a drop: stock::DropKept
    PRIMARY KEY (job, kind, stock, at)
) STRICT, WITHOUT ROWID;
CREATE INDEX stock_move_of ON stock_move (kind, stock, count, length);
