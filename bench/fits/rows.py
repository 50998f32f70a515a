"""Makes rows.csv: 400 fits as text, inch, four decimals.

    python3 rows.py > rows.csv

Each row is a bore and a shaft with the least and the most clearance that a
table of limits allows, tight fits negative. The fits are our own invention; the
mix is meant to be that of an overhaul where much is worn: three rows of four
lie anywhere from well inside to somewhat outside, and every fourth is exactly
at its least or its most. The generator is written out here, so that every
version of Python makes the same file.
"""

import csv

# Nominal size, least and most clearance, in tenths (0.0001 inch).
FITS = [
    (23750, 12, 45),  # main bearing
    (22500, 8, 35),  # big end
    (11250, 6, 21),  # pin in small-end bushing
    (11240, 1, 9),  # pin in piston
    (51250, 105, 160),  # skirt in barrel
    (10000, 10, 40),  # camshaft
    (7180, 7, 28),  # tappet
    (4040, 14, 42),  # valve in guide
    (7500, 5, 25),  # rocker
    (5625, 15, 50),  # drive shaft
    (8120, -45, -20),  # bushing in its bore: tight
    (6250, -10, 5),  # dowel: tight to loose
]


def numbers(seed):
    """Yields 32-bit numbers (xorshift, Marsaglia 2003, shifts 13, 17, 5)."""
    x = seed
    while True:
        x ^= x << 13 & 0xFFFFFFFF
        x ^= x >> 17
        x ^= x << 5 & 0xFFFFFFFF
        yield x


def make():
    """Yields the rows as counts of tenths."""
    number = numbers(2026)
    for i in range(400):
        nominal, least, most = FITS[i % len(FITS)]
        bore = nominal + next(number) % 60
        slack = (most - least) // 3
        clearance = least - slack + next(number) % (most - least + 2 * slack + 1)
        if next(number) % 4 == 0:
            clearance = (least, most)[next(number) % 2]
        yield bore, bore - clearance, least, most


def text(tenths):
    sign = "-" if tenths < 0 else ""
    return f"{sign}{abs(tenths) // 10000}.{abs(tenths) % 10000:04d}"


def tenths(figure):
    """Reads a figure back as a whole count: without its point it is one."""
    if figure[-5] != ".":
        raise ValueError(f"{figure}: not four decimals")
    return int(figure.replace(".", ""))


def read(path):
    """Returns the rows of the file as text."""
    with open(path, newline="") as f:
        header, *rows = csv.reader(f)
    if header != ["bore", "shaft", "min", "max"] or len(rows) != 400:
        raise ValueError(f"{path}: not 400 rows of bore,shaft,min,max")
    return rows


def truth(rows):
    """Returns the exact verdicts, by whole numbers."""
    counts = [tuple(map(tenths, row)) for row in rows]
    return [low <= bore - shaft <= high for bore, shaft, low, high in counts]


def wrong(verdicts, rows):
    """Counts the verdicts that are not the exact one."""
    exact = truth(rows)
    if len(verdicts) != len(exact):
        raise ValueError(f"{len(verdicts)} verdicts on {len(exact)} rows")
    return sum(a != b for a, b in zip(verdicts, exact))


if __name__ == "__main__":
    print("bore,shaft,min,max")
    for row in make():
        print(",".join(map(text, row)))
