// node verify.mjs FILE [KEY] [SEAL'S FILE]: verifies an exported record, by docs/formats.md and nothing else.
import { createHash, verify } from "node:crypto";
import { readFileSync } from "node:fs";

const SEAL = /^((tenths\.shop\/[^/\n]+)\/([^\n]+)\n(0|[1-9]\d{0,17})\n(\S+)\nsealed (\S+)\n)\n((— \S+ \S+\n)+$)?/;
const must = (so) => { if (so) return so; throw new Error("not written so"); };
const maybe = (read) => { try { return read(); } catch { return undefined; } };
const sha = (...parts) => parts.reduce((hash, part) => hash.update(part), createHash("sha256")).digest();
const isTime = (text) => text.length === 24 && new Date(text).toJSON() === text; // 31 June comes back as 1 July
const depth = (x) => typeof x !== "object" ? 0 : 1 + Math.max(0, ...Object.values(x).map(depth)); // null throws
const unbase64 = (text, size, raw = Buffer.from(text, "base64")) => // Buffer passes over what is wrong
  must(raw.toString("base64") === text && raw.length === (size ?? raw.length) && raw);
const root = (lines, k = 2 ** Math.ceil(Math.log2(lines.length) - 1)) => lines.length < 2 ? lines[0]?.hash ?? sha()
  : sha("\x01", root(lines.slice(0, k)), root(lines.slice(k))); // k is the largest power of two below their number

function readEntry(text) { // JSON would reorder keys that are numbers, and round: so texts get a =, and integers a #
  const marked = text.replace(/"((?:[^"\\]|\\.)*")|(?:0|-?[1-9]\d{0,17})(?!\d)/g, (x, s) => s ? `"=${s}` : `"#${x}"`);
  const again = JSON.stringify(JSON.parse(marked)).replace(/\u2028/g, "\\u2028").replace(/\u2029/g, "\\u2029");
  must(again === marked && !/\\ud/.test(text.replace(/\\\\/g, ""))); // a key twice is lost; no halves of characters
  const [, shop] = text.match(/^{"v":[1-9].*?"shop":(\d+),.*}}$/), e = { ...JSON.parse(text), shop: BigInt(shop) };
  must(Object.keys(e).join(" ") === "v log seq shop id made recorded by device kind fact" && depth(e) <= 8);
  must([e.id, e.by, e.device, e.kind].every((x) => typeof x === "string") && Buffer.byteLength(text) <= 65536);
  return must(/^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/.test(e.id) && isTime(e.made) && isTime(e.recorded) && e);
}
function readKey(text) {
  const [name, id, ...rest] = text.split("+"), raw = unbase64(rest.join("+"), 33); // base64 has a + too
  must(name.startsWith("tenths.shop/") && raw[0] === 1 && sha(name, "\n", raw).toString("hex", 0, 4) === id);
  return { name, id, format: "jwk", key: { kty: "OKP", crv: "Ed25519", x: raw.toString("base64url", 1) } };
}
function readSeal(text, key) { // further signatures are others'; of two by the key the first counts
  const [, signed, name, log, size, top, when, marks] = text.match(SEAL);
  const mine = maybe(() => [...marks.matchAll(/— (\S+) (\S+)\n/g)].map(([, by, base64]) => [by, unbase64(base64)])
    .find(([by, raw]) => by === key.name && raw.toString("hex", 0, 4) === key.id)[1]);
  const good = name === key.name && mine?.length === 68 && verify(null, Buffer.from(signed), key, mine.subarray(4));
  return { log, size: Number(size), top: unbase64(top, 32), when: must(isTime(when) && when), good };
}
function find([path, given, kept]) { // the exit status, and in words; it throws where that is 2
  const data = readFileSync(path), whole = data.subarray(0, data.lastIndexOf("\n") + 1), text = whole.toString();
  const lines = text.split("\n").slice(0, -1).map((line) => line.match(/^([^ ]*) ?(([^ ]*) ?(.*))$/s).slice(1));
  const all = (word) => lines.filter((line) => line[0] === word), [end] = all("end"); // word, rest, the rest in two
  const blobs = new Map(all("blob").map(([, , name, base64]) => [name, unbase64(base64)]));
  must(/^tenths key( seal)*( blob)*( shop)*( job)*( end)?$/.test(lines.map(([word]) => word).join(" ")));
  must(lines[0][1] === "record/1" && blobs.size === all("blob").length && (!end || end[1] === `${lines.length - 1}`));
  const [shops, jobs] = ["shop", "job"].map((word) => all(word).map(([, , hash, entry]) =>
    ({ stated: unbase64(hash, 32), hash: sha("\0", entry), e: maybe(() => readEntry(entry)) ?? {} })));
  const ownKey = lines[1][1], [key] = [given || ownKey, ownKey].map(readKey);
  const seals = kept ? [readSeal(readFileSync(kept, "utf8"), key)] : [];
  for (const [, json] of all("seal")) seals.push(maybe(() => readSeal(JSON.parse(json), key)) ?? {});
  const job = [jobs[0]?.e, ...seals].map((x) => x?.log).find((log) => /^job\/./s.test(log)) ?? "job/?";
  const logs = new Map([["shop", shops], [job, jobs]]), last = seals.filter((seal) => seal.log === job).pop();
  const of = (log, ...kinds) => log.filter(({ e }) => e.v === 1 && kinds.includes(e.kind)).map(({ e }) => e.fact);
  if (!whole.equals(Buffer.from(text)) || given && given !== ownKey || // what is not UTF-8 was read as U+FFFD
    [...logs].some(([log, lines]) => lines.some(({ stated, hash, e }, i) => !stated.equals(hash) ||
      e.log !== log || e.seq !== i + 1 || e.shop < (lines[i - 1]?.e.shop ?? 0))) ||
    seals.some(({ log, size, top, good }) => !good || !logs.has(log) ||
      size <= logs.get(log).length && !root(logs.get(log).slice(0, size)).equals(top)) ||
    of(jobs, "job-opened", "edition-changed").some(({ edition: x }) => typeof x === "string" && x && !blobs.has(x)) ||
    [...blobs].some(([name, raw]) => sha(raw).toString("hex") !== name)) return [1, "Altered"];
  if (!end || seals.some(({ log, size }) => size > logs.get(log).length) ||
    jobs.some(({ e }) => e.shop > shops.length) || of(shops, "job-sealed").some(({ job: id, size }) =>
      id === job.slice(4) && Number.isInteger(size) && size > jobs.length)) return [4, "Shorter than sealed"];
  return last && (given || kept) ? [0, `Unaltered since the seal of ${last.when}`] : [3, "Agrees with itself"];
}
const [status, words] = maybe(() => find(process.argv.slice(2))) ?? [2, "Not a record"];
console.log(words);
process.exitCode = status;
