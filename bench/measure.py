"""Runs a command many times as a whole process.

    python3 measure.py TIMES STATUSES COMMAND [ARGUMENT…]

Prints the least, the median and the most seconds, then the greatest memory in
KiB that the process or one of its children held (resident). STATUSES are the
exit statuses that are no failure: 0 or 0,1,3.

The seconds are from start to end as a caller sees them, GNU time's own start
(less than a millisecond) included. The memory is GNU time's: a child started
from here would count this interpreter's as its own.
"""

import shutil
import statistics
import subprocess
import sys
import tempfile
import time

times, good, command = int(sys.argv[1]), {int(s) for s in sys.argv[2].split(",")}, sys.argv[3:]
gnu = shutil.which("time")
seconds, memory = [], []
with tempfile.NamedTemporaryFile("r") as held:
    for _ in range(times):
        start = time.perf_counter()
        p = subprocess.run(
            [gnu, "-f", "%M", "-o", held.name, *command],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )
        seconds.append(time.perf_counter() - start)
        if p.returncode not in good:
            sys.exit(f"{' '.join(command)}: exit status {p.returncode}\n{p.stderr.decode(errors='replace')}")
        held.seek(0)
        memory.append(int(held.read().split()[-1]))
print(min(seconds), statistics.median(seconds), max(seconds), max(memory))
