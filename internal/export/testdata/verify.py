#!/usr/bin/env python3
"""verify.py FILE [--key KEY] [--seal FILE]: verifies an exported record, by docs/formats.md and nothing else."""
import argparse, base64, datetime, hashlib, json, re, sys

FINDINGS = {0: "Unaltered since", 3: "Agrees with itself", 4: "Shorter than sealed", 1: "Altered", 2: "Not a record"}
FIELDS = "v log seq shop id made recorded by device kind fact", [int, str, int, int, str, str, str, str, str, str, dict]
TIME = re.compile("([0-9]{4})-([0-9]{2})-([0-9]{2})T([0-9]{2}):([0-9]{2}):([0-9]{2})[.][0-9]{3}Z")
SEAL = re.compile("(tenths[.]shop/[^/\n]+)/([^\n]+)\n(0|[1-9][0-9]{0,17})\n([^\n]+)\nsealed ([^\n]+)")
BAD = (ValueError, AttributeError, TypeError, RecursionError)  # what comes of reading something that is not written so
P, L = 2**255 - 19, 2**252 + 27742317777372353535851937790883648493  # Ed25519's field and order
D, I = -121665 * pow(121666, P - 2, P) % P, pow(2, (P - 1) // 4, P)  # I squared is -1

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
    x = next((x for x in (pow(xx, (P + 3) // 8, P) * i % P for i in (1, I)) if x * x % P == xx), None)
    need(y < P and x is not None and (x or not sign), "not a point of the curve")
    x = x if x & 1 == sign else P - x
    return x, y, 1, x * y % P
def add(p, q):  # 5.1.4
    a, b, c, d = (p[1] - p[0]) * (q[1] - q[0]), (p[1] + p[0]) * (q[1] + q[0]), 2 * p[3] * q[3] * D, 2 * p[2] * q[2]
    return (b - a) * (d - c) % P, (d + c) * (b + a) % P, (d - c) * (d + c) % P, (b - a) * (b + a) % P
def signed(key, text, signature):  # 5.1.7, without the cofactor: the sum of s times the base and k times -A is R
    s, k = (int.from_bytes(x, "little") for x in (signature[32:], hashlib.sha512(signature[:32] + key + text).digest()))
    a, r, base = point(key), point(signature[:32]), point((4 * pow(5, P - 2, P) % P).to_bytes(32, "little"))
    q = (0, 1, 1, 0)
    for bit in range(255, -1, -1):
        q = add(q, q)
        if s >> bit & 1: q = add(q, base)
        if k % L >> bit & 1: q = add(q, (P - a[0], a[1], 1, P - a[3]))
    return s < L and (q[0] - r[0] * q[2]) % P == 0 == (q[1] - r[1] * q[2]) % P
def root(hashes):
    k = 1 << max(len(hashes) - 1, 1).bit_length() - 1  # the largest power of two below n
    return sha(b"\1", root(hashes[:k]), root(hashes[k:])) if len(hashes) > 1 else hashes[0] if hashes else sha()
def moment(text):  # the calendar repeats after 400 years, and datetime knows no year 0
    need(TIME.fullmatch(text), "a time is not written so: " + text)
    year, *rest = map(int, TIME.fullmatch(text).groups())
    datetime.datetime(2000 + year % 400, *rest)
def plain(x, deep=1):  # of JSON what is allowed
    if isinstance(x, dict): x = list(x.values())
    if isinstance(x, list): return deep <= 8 and all(plain(y, deep + 1) for y in x)
    return isinstance(x, (str, bool)) or isinstance(x, int) and abs(x) < 10**18
def entry(line):  # a key that stands twice is lost in reading: the text written again is another
    e = json.loads(line.decode())
    text = json.dumps(e, ensure_ascii=False, separators=(",", ":"))
    need(text.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029").encode() == line, "not the one text of it")
    need((" ".join(e), [type(x) for x in e.values()]) == FIELDS, "not an entry's fields")
    need(plain(e) and len(line) <= 65536, "null, a number, too deep or too long")
    need(re.fullmatch("[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", e["id"]), "its id is no UUID")
    need(e["v"] > 0 and e["shop"] >= 0, "v or shop is below what it can be")
    moment(e["made"]), moment(e["recorded"])
    return e
def read_key(text):
    name, number, key = text.split("+", 2)
    raw = unbase64(key, 33)
    need(name[:12] == "tenths.shop/" and raw[0] == 1, "not a shop's key")
    need(sha(name.encode(), b"\n", raw)[:4].hex() == number, "a key's hash is not its own")
    return name, bytes.fromhex(number), raw[1:]
def read_seal(text):
    note, _, tail = text.partition("\n\n")
    need(SEAL.fullmatch(note), "a seal can't be read")
    name, log, size, top, when = SEAL.fullmatch(note).groups()
    moment(when)
    return dict(text=note + "\n", tail=tail, name=name, log=log, size=int(size), root=unbase64(top, 32), when=when)
def is_by(key, seal):  # further signatures are others'
    need(re.fullmatch("(\u2014 [^ \n]+ [^ \n]+\n)+", seal["tail"]), "a seal's signatures can't be read")
    marks = [(name, unbase64(text)) for name, text in re.findall("\u2014 (.+) (.+)\n", seal["tail"])]
    mine = [raw[4:] for name, raw in marks if name == seal["name"] == key[0] and raw[:4] == key[1]]
    return mine and len(mine[0]) == 64 and signed(key[2], seal["text"].encode(), mine[0])
def read_file(data):
    lines, words, blobs = data.split(b"\n")[:-1], ["key", "seal", "blob", "shop", "job", "end"], {}
    got = {word: [] for word in words}
    need(lines[:1] == [b"tenths record/1"] and lines[1:] and lines[1][:4] == b"key ", "it does not begin so")
    for number, line in enumerate(lines[1:], 1):
        word, _, rest = line.decode("latin-1").partition(" ")  # keeps every byte, and base64 has none above 0x7f
        need(word in words, "line %d is of another kind, out of order, or behind the end" % (number + 1))
        words = words[words.index(word) + (word in ("key", "end")):]
        first, _, text = rest.partition(" ")
        need(word != "end" or rest == str(number), "a wrong number at its end")
        need(word != "blob" or first not in blobs, "a blob stands there twice")
        if word == "blob": blobs[first] = unbase64(text)
        raw = unbase64(first, 32) if word in ("shop", "job") else None
        got[word].append((raw, text.encode("latin-1")) if raw else rest.encode("latin-1"))
    return read_key(got["key"][0].decode()), got, blobs
def verify(data, mine, kept):  # what is so, as pairs of exit status and words
    (key, got, blobs), found, seals, logs, good = read_file(data), [], [], {}, {}
    say = lambda so, status, why: found.append((status, why)) if so else None
    say(mine and mine != key, 1, "the file's key is not the reader's")
    for text in got["seal"]:
        try: seals.append(read_seal(json.loads(text)))
        except BAD: say(True, 1, "a seal can't be read")
    seals = sorted(seals + kept, key=lambda s: s["size"])
    for seal in seals:
        try: say(not is_by(mine or key, seal), 1, "the seal of %s is not signed by the key" % seal["when"])
        except BAD as why: say(True, 1, str(why))
    for name in blobs: say(sha(blobs[name]).hex() != name, 1, "the SHA-256 of blob %s is not its name" % name)
    first = re.match(b'{"v":[0-9]+,"log":"(job/[^"]+)"', got["job"][0][1] if got["job"] else b"")
    named = [first[1].decode(errors="replace")] if first else [s["log"] for s in seals if s["log"][:4] == "job/"]
    job = (named + ["job/?"])[0]
    for log, lines in (("shop", got["shop"]), (job, got["job"])):
        logs[log], knew, hashes = [], 0, [sha(b"\0", line) for _, line in lines]
        for seq, (stated, line) in enumerate(lines, 1):
            say(stated != hashes[seq - 1], 1, "the hash beside entry %d of %s is not its own" % (seq, log))
            try:
                e = entry(line)
                need((e["log"], e["seq"]) == (log, seq) and e["shop"] >= knew, "not of its log, not next, or knew less")
                logs[log].append(e)
                knew = e["shop"]
            except BAD as why: say(True, 1, "entry %d of %s: %s" % (seq, log, why))
        for s in (s for s in seals if s["log"] == log):
            what = "the seal of %s over %d entries of %s" % (s["when"], s["size"], log)
            if s["size"] > len(lines): say(True, 4, what + ": there are %d" % len(lines))
            elif root(hashes[:s["size"]]) == s["root"]: good[log] = what
            else: say(True, 1, what + " does not hold; before it holds " + good.get(log, "none"))
    say(any(s["log"] not in logs for s in seals), 1, "a seal is of neither log")
    for e in logs[job]:
        edition = e["fact"].get("edition") if e["v"] == 1 and e["kind"] in ("job-opened", "edition-changed") else ""
        say(type(edition) is str and edition not in ("", *blobs), 1, "edition %s is not among the blobs" % edition)
        say(e["shop"] > len(got["shop"]), 4, "entry %d of the job knew more of the shop's log" % e["seq"])
    for e in logs["shop"]:
        size = e["fact"].get("size") if (e["v"], e["kind"], e["fact"].get("job")) == (1, "job-sealed", job[4:]) else 0
        say(type(size) is int and size > len(got["job"]), 4, "the shop's log repeats a seal of %s entries" % size)
    say(not got["end"], 4, "its end is missing")
    say(job not in good, 3, "there is no seal of the job's log")
    say(not mine and not kept, 3, "the reader brought neither a key nor a seal")
    return found or [(0, good[job])]

if __name__ == "__main__":
    arguments = argparse.ArgumentParser()
    for name in ("file", "--key", "--seal"): arguments.add_argument(name)
    asked = arguments.parse_args()
    try:
        kept = [read_seal(open(asked.seal, newline="", encoding="utf-8").read())] if asked.seal else []
        found = verify(open(asked.file, "rb").read(), read_key(asked.key) if asked.key else None, kept)
    except (*BAD, OSError) as why: found = [(2, str(why))]
    status = max((s for s, _ in found), key=list(FINDINGS).index)
    print(FINDINGS[status] + (": " if status else " ") + ascii("; ".join(why for s, why in found if s == status))[1:-1])
    sys.exit(status)
