# Prints the roots of RFC 6962 trees of 0 to 8 leaves, by the recursive
# definition of its section 2.1, with the standard library alone.
import hashlib

LEAVES = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"]


def root(lines):
    if not lines:
        return hashlib.sha256(b"").digest()
    if len(lines) == 1:
        return hashlib.sha256(b"\x00" + lines[0]).digest()
    k = 1
    while k * 2 < len(lines):
        k *= 2
    return hashlib.sha256(b"\x01" + root(lines[:k]) + root(lines[k:])).digest()


for n in range(len(LEAVES) + 1):
    print(root([bytes.fromhex(h) for h in LEAVES[:n]]).hex())
