"""Judges rows.csv with Python's floats or decimals, the rows parsed before.

    python3 peers.py float|decimal ROWS.csv REPEATS

Prints the wrong verdicts, then the median and the best time of one verdict in
nanoseconds. A list comprehension is the quickest loop that Python has. Nothing
is imported that judging does not need, since the whole run is measured too.
"""

import sys
import time

import rows


def judge(parsed):
    return [low <= bore - shaft <= high for bore, shaft, low, high in parsed]


if sys.argv[1] == "float":
    kind = float
elif sys.argv[1] == "decimal":
    from decimal import Decimal as kind
else:
    sys.exit(f"{sys.argv[1]}: write float or decimal")
given = rows.read(sys.argv[2])
parsed = [tuple(map(kind, row)) for row in given]
times = []
for _ in range(int(sys.argv[3])):
    start = time.perf_counter_ns()
    verdicts = judge(parsed)
    times.append((time.perf_counter_ns() - start) / len(parsed))
times.sort()
print(rows.wrong(verdicts, given), times[len(times) // 2], times[0])
