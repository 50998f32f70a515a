#!/usr/bin/env python3
"""verify.py FILE [--key KEY] [--seal FILE]: verifies an exported record, from docs/formats.md and nothing else."""
import argparse, base64, datetime, hashlib, json, re, sys

FINDINGS = {0: "Unaltered since the seal of %s", 3: "Agrees with itself", 4: "Shorter than sealed", 1: "Altered"}
FIELDS = dict(v=int, log=str, seq=int, shop=int, id=str, made=str, recorded=str, by=str, device=str, kind=str, fact=dict)
UUID = re.compile("[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
TIME = re.compile("([0-9]{4})-([0-9]{2})-([0-9]{2})T([0-9]{2}):([0-9]{2}):([0-9]{2})[.][0-9]{3}Z")
SEAL = re.compile("(tenths[.]shop/[^/\n]+)/([^\n]+)\n(0|[1-9][0-9]{0,17})\n([^\n]+)\nsealed ([^\n]+)")
P, L = 2**255 - 19, 2**252 + 27742317777372353535851937790883648493  # Ed25519's field and order
D, ROOT = -121665 * pow(121666, P - 2, P) % P, pow(2, (P - 1) // 4, P)  # ROOT squared is -1
def need(so, why):
    if not so: raise ValueError(why)
def sha(*parts): return hashlib.sha256(b"".join(parts)).digest()
def unbase64(text, size=None):
    raw = base64.b64decode(text, validate=True)
    need(base64.b64encode(raw).decode() == text and size in (None, len(raw)), "base64 or a hash can't be read")
    return raw
def point(raw):  # RFC 8032, 5.1.3
    y, sign = int.from_bytes(raw, "little") % 2**255, raw[31] >> 7
    xx = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    x = pow(xx, (P + 3) // 8, P)
    x = x if x * x % P == xx else x * ROOT % P
    need(y < P and x * x % P == xx and (x or not sign), "not a point of the curve")
    x = x if x & 1 == sign else P - x
    return x, y, 1, x * y % P
def add(p, q):  # 5.1.4
    a, b, c, d = (p[1] - p[0]) * (q[1] - q[0]), (p[1] + p[0]) * (q[1] + q[0]), 2 * p[3] * q[3] * D, 2 * p[2] * q[2]
    return (b - a) * (d - c) % P, (d + c) * (b + a) % P, (d - c) * (d + c) % P, (b - a) * (b + a) % P
def times(n, p):
    q = (0, 1, 1, 0)
    for bit in bin(n)[2:]: q = add(add(q, q), p) if bit == "1" else add(q, q)
    return q
def signed(key, text, signature):  # 5.1.7, without the cofactor
    s, k = (int.from_bytes(x, "little") for x in (signature[32:], hashlib.sha512(signature[:32] + key + text).digest()))
    base = point((4 * pow(5, P - 2, P) % P).to_bytes(32, "little"))
    a, b = times(s, base), add(point(signature[:32]), times(k % L, point(key)))
    return s < L and (a[0] * b[2] - b[0] * a[2]) % P == 0 == (a[1] * b[2] - b[1] * a[2]) % P
def moment(text):  # the calendar repeats after 400 years, and datetime knows no year 0
    need(TIME.fullmatch(text), "not a time: " + text)
    year, *rest = map(int, TIME.fullmatch(text).groups())
    datetime.datetime(2000 + year % 400, *rest)
def plain(x, deep=0):  # what is allowed of JSON; how deep counts without the entry itself
    if isinstance(x, dict): x = list(x.values())
    return deep <= 8 and all(plain(y, deep + 1) for y in x) if isinstance(x, list) else \
        isinstance(x, (str, bool)) or isinstance(x, int) and abs(x) < 10**18
def entry(line):  # a key that stands twice is lost in reading: the text written again is then another
    e = json.loads(line.decode())
    text = json.dumps(e, ensure_ascii=False, separators=(",", ":"))
    need(text.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029").encode() == line, "not the one text of it")
    need(isinstance(e, dict) and [(k, type(x)) for k, x in e.items()] == list(FIELDS.items()), "not an entry's fields")
    need(plain(e) and len(line) <= 65536, "null, a number, too deep or too long")
    need(e["v"] > 0 and e["shop"] >= 0 and UUID.fullmatch(e["id"]), "v, shop or id is none")
    moment(e["made"]), moment(e["recorded"])
    return e
def root(hashes):
    k = 1 << max(len(hashes) - 1, 1).bit_length() - 1  # the largest power of two below n
    return sha(b"\1", root(hashes[:k]), root(hashes[k:])) if len(hashes) > 1 else hashes[0] if hashes else sha()
def read_key(text):
    name, number, key = text.split("+", 2)
    raw = unbase64(key, 33)
    need(raw[0] == 1 and sha(name.encode(), b"\n", raw)[:4].hex() == number and name[:12] == "tenths.shop/", "not a key")
    return name, bytes.fromhex(number), raw[1:]
def read_seal(text):
    note, _, tail = text.partition("\n\n")
    need(SEAL.fullmatch(note), "a seal can't be read")
    name, log, size, top, when = SEAL.fullmatch(note).groups()
    moment(when)
    return dict(text=note + "\n", tail=tail, name=name, log=log, size=int(size), root=unbase64(top, 32), when=when)
def signed_by(seal, key):
    need(re.fullmatch("(\u2014 [^ \n]+ [^ \n]+\n)+", seal["tail"]), "a seal's signature can't be read")
    signatures = [(name, unbase64(text)) for _, name, text in (line.split(" ") for line in seal["tail"].splitlines())]
    mine = [raw[4:] for name, raw in signatures if name == seal["name"] == key[0] and raw[:4] == key[1]]
    need(mine and len(mine[0]) == 64 and signed(key[2], seal["text"].encode(), mine[0]), "a seal is not signed by the key")
def read_file(data):
    lines, words, got, blobs = data.split(b"\n")[:-1], ["key", "seal", "blob", "shop", "job", "end"], {}, {}
    need(lines[:1] == [b"tenths record/1"] and lines[1:] and lines[1].startswith(b"key "), "it does not begin so")
    for number, line in enumerate(lines[1:], 1):
        word, _, rest = line.decode("latin-1").partition(" ")  # latin-1 keeps every byte, and base64 knows none above 0x7f
        need(word in words, "line %d is of another kind, out of order, or behind the end" % (number + 1))
        words = words[words.index(word) + (word in ("key", "end")):]
        first, _, text = rest.partition(" ")
        need(word != "end" or rest == str(number), "a wrong number at its end")
        need(word != "blob" or first not in blobs, "a blob stands there twice")
        if word == "blob": blobs[first] = unbase64(text)
        else: got.setdefault(word, []).append((unbase64(first, 32), text.encode("latin-1")) if word in ("shop", "job") else rest)
    return read_key(got["key"][0]), got, blobs
def verify(data, mine, kept):  # what is so, as pairs of exit status and words; the last seal of the job's log
    key, got, blobs = read_file(data)
    found, seals, entries, knew = [(1, "the file's key is not the reader's")] if mine and mine != key else [], [], {}, 0
    for text in got.get("seal", []):
        try: kept = kept + [read_seal(json.loads(text.encode("latin-1")))]
        except (ValueError, AttributeError) as why: found.append((1, "a seal can't be read: %s" % why))
    for seal in kept:
        try: seals.append(signed_by(seal, mine or key) or seal)
        except ValueError as why: found.append((1, "%s (%s)" % (why, seal["when"])))
    found += [(1, "blob %s is not its name" % name) for name in blobs if sha(blobs[name]).hex() != name]
    try: job = json.loads(got["job"][0][1])["log"]
    except (KeyError, ValueError, TypeError): job = next((s["log"] for s in seals if s["log"] != "shop"), "job/?")
