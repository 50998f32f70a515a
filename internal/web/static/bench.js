// The bench: it knows the spot, the digits, and where the mark would stand. It
// words no verdict: the mark moves as digits are typed, and the word comes from
// the server once the reading is kept. What was typed and not answered yet is
// held here, in this browser, and sent until it is.

const $ = (id) => document.getElementById(id);
const bench = document.querySelector(".bench");
const base = bench.dataset.order;
const figure = $("figure");
const form = $("reading");
const ask = $("ask");
const store = "tenths-held " + base;
const person = bench.dataset.person;
const title = () => $("title").dataset;

// ---- figures: whole counts of 0.1 nm ----

const unitCounts = { in: 254000000n, '"': 254000000n, inch: 254000000n, thou: 254000n, tenths: 25400n, tenth: 25400n, mm: 10000000n, "µm": 10000n, um: 10000n };

// count reads a figure as a whole count, or null where it is none.
export function count(text, unit) {
  const m = /^([+-]?)0*(\d*)(?:\.(\d*))?\s*([a-zµ"]*)$/i.exec(text.trim().replace("−", "-"));
  if (!m || (!m[2] && !m[3] && !/[0]/.test(text))) return null;
  const per = unitCounts[(m[4] || unit).toLowerCase()];
  if (!per) return null;
  const decimals = (m[3] || "").length;
  const scaled = BigInt((m[2] || "0") + (m[3] || "")) * per;
  const of = 10n ** BigInt(decimals);
  if (scaled % of) return null; // finer than 0.1 nm
  const n = Number(scaled / of);
  return m[1] === "-" ? -n : n;
}

// asPoint is a figure as count reads it: in a book that writes commas both are
// understood.
function asPoint(text) {
  return text.includes(",") && !text.includes(".") && JSON.parse(title().rules || "[]").some((m) => m.rule.comma) ? text.replace(",", ".") : text;
}

// typed is the size that the field says, with the gauge's setting; null where
// it says none.
function typed() {
  const set = field("setting");
  if (!set) return count(asPoint(figure.value), title().unit);
  const master = count(asPoint(set), title().unit);
  const off = count(asPoint(figure.value), field("unit") || title().unit);
  if (master === null || off === null) return null;
  return field("sense") ? master - off : master + off;
}

// place is where a count stands on a rule, in per cent; as the server places it.
export function place(rule, n) {
  const p = rule.points.map((q) => ({ at: Number(q.at), x: q.x }));
  if (!p.length) return { x: 50, on: true };
  if (n < p[0].at) return { x: rule.left, on: false };
  if (n > p[p.length - 1].at) return { x: rule.right, on: false };
  let i = p.findIndex((q) => q.at >= n);
  if (i === 0 || p[i].at === n) return { x: p[i].x, on: true };
  const a = p[i - 1], b = p[i];
  return { x: a.x + ((n - a.at) / (b.at - a.at)) * (b.x - a.x), on: true };
}

// shown writes a count as the rule's figures are written.
export function shown(rule, n) {
  const one = BigInt(rule.one);
  let v = BigInt(n);
  const minus = v < 0n;
  if (minus) v = -v;
  let decimals = rule.decimals;
  let of = 10n ** BigInt(decimals);
  while (decimals < 6 && (v * of) % one) { decimals++; of *= 10n; }
  if ((v * of) % one && decimals > rule.decimals + 1) { decimals = rule.decimals + 1; of = 10n ** BigInt(decimals); }
  let whole = (v * of) / one;
  const rest = 2n * ((v * of) % one);
  if (rest > one || (rest === one && whole % 2n)) whole++; // half to even, as the server rounds
  const digits = whole.toString().padStart(decimals + 1, "0");
  let text = decimals ? digits.slice(0, -decimals) + (rule.comma ? "," : ".") + digits.slice(-decimals) : digits;
  if ((v * of) % one) text = "≈" + text;
  const letters = rule.letters || "";
  if (letters) return text + (minus ? letters[0] : n > 0 ? letters[1] || "" : "");
  return (minus ? "−" : "") + text;
}

// What the figure moves, found once for each spot: the rules, and of each line
// the elements that move.
let moving = null;
function lines() {
  return (moving ??= JSON.parse(title().rules || "[]").flatMap((m) => {
    const box = document.querySelector('[data-line="' + CSS.escape(m.line) + '"]');
    const svg = box && box.querySelector("svg.ruler");
    if (!svg) return [];
    const fig = box.querySelector(":scope > .fig");
    return [{ m, svg, fig, drawn: null, figure: fig ? [...fig.childNodes] : [], parts: null }];
  }));
}
// partsOf are the moving elements of a ruler.
function partsOf(m, svg) {
  return {
    heads: (m.rule.heads || []).map((head) => {
      const el = svg.querySelector("svg.pointer." + head.end);
      return { head, el, off: el ? [...el.querySelectorAll(".off")] : [], val: el?.querySelector(".val"), box: el?.querySelector(".box") };
    }),
    span: svg.querySelector("line.span"),
    hatches: (m.rule.stops || []).map((stop) => svg.querySelector("rect.hatch." + stop.end)),
  };
}
// Only what changes is written: the rest need not be laid out again.
function put(el, name, value) {
  if (value === null) { if (el.hasAttribute(name)) el.removeAttribute(name); } else if (el.getAttribute(name) !== String(value)) el.setAttribute(name, value);
}
function write(el, text) { if (el.textContent !== text) el.textContent = text; }

// move puts the heads of every line that the figure moves where they would
// stand; without a figure they stand where the record has them.
function move() {
  const n = typed();
  for (const line of lines()) {
    const { m, svg, fig } = line;
    if (n === null || !m.ready) {
      if (line.drawn === null) continue;
      svg.classList.remove("hand");
      svg.innerHTML = line.drawn;
      line.drawn = line.parts = null;
      if (fig) { fig.replaceChildren(...line.figure); fig.classList.remove("hand-t"); }
      continue;
    }
    if (line.drawn === null) {
      line.drawn = svg.innerHTML;
      line.parts = partsOf(m, svg);
      svg.classList.add("hand");
      if (fig) fig.classList.add("hand-t");
    }
    const sizes = (m.have || []).concat([n]);
    const least = Math.min(...sizes), most = Math.max(...sizes);
    const ends = {
      low: m.low + m.times * (m.times > 0 ? least : most),
      high: m.high + m.times * (m.times > 0 ? most : least),
    };
    const xs = [];
    let counts = ends.high, beyond = null;
    const past = {};
    for (const part of line.parts.heads) {
      const at = ends[part.head.end];
      const p = place(m.rule, at);
      xs.push(p.x);
      if (part.head.counts) counts = at;
      pointer(part, m.rule, at, p);
      for (const stop of m.rule.stops || []) {
        if (!part.head.counts && m.rule.heads.length > 1 && stop.end !== part.head.end) continue;
        if (stop.end === "low" ? at <= Number(stop.past) : at >= Number(stop.past)) { past[stop.end] = p.x; beyond ??= at; }
      }
    }
    const span = line.parts.span;
    if (span && xs.length === 2) {
      put(span, "x1", xs[0] + "%");
      put(span, "x2", xs[1] + "%");
      put(span, "display", xs[0] === xs[1] ? "none" : null);
    }
    (m.rule.stops || []).forEach((stop, i) => {
      const hatch = line.parts.hatches[i];
      if (!hatch) return;
      const x = past[stop.end] === undefined ? stop.x : past[stop.end];
      put(hatch, "x", Math.min(x, stop.x) + "%");
      put(hatch, "width", Math.abs(x - stop.x) + "%");
    });
    if (fig) write(fig, shown(m.rule, beyond ?? counts));
  }
  worst();
}

// pointer sets one head where a count stands, with its figure.
function pointer({ el, off, val, box }, rule, at, p) {
  if (!el) return;
  put(el, "x", p.x + "%");
  put(el, "display", null);
  for (const o of off) put(o, "display", p.on ? "none" : null);
  if (!val) return;
  write(val, shown(rule, at));
  if (val.classList.contains("on-rev")) val.classList.remove("on-rev");
  put(val, "text-anchor", p.x < 14 ? "start" : p.x > 86 ? "end" : "middle");
  put(val, "x", "0");
  if (box) put(box, "display", "none");
}

// worst keeps the worst line in sight where the screen is low.
let low = false;
function look() {
  low = $("worst").checkVisibility();
  worst();
}
addEventListener("resize", look);
const rank = { beyond: 5, held: 4, open: 3, serviceable: 2, new: 1, reference: 0 };
function worst() {
  if (!low) return;
  const rows = [...document.querySelectorAll("#lines .moves")];
  rows.sort((a, b) => (rank[word(b)] || 0) - (rank[word(a)] || 0));
  const row = rows[0];
  $("worst").replaceChildren();
  if (!row) return;
  const name = document.createElement("span");
  name.textContent = row.firstElementChild.firstChild.textContent;
  const fig = row.querySelector(":scope > .fig").cloneNode(true);
  $("worst").append(name, fig, row.querySelector(".verdict").cloneNode(true));
}
const word = (row) => row.querySelector(".verdict").textContent;

// ---- what is held until it is answered ----

function held() {
  try { return JSON.parse(localStorage.getItem(store) || "[]"); } catch { return []; }
}
function hold(list) {
  localStorage.setItem(store, JSON.stringify(list));
  strip(list);
}
function strip(list) {
  const box = $("strip");
  box.hidden = list.length < 1 || (list.length === 1 && !list[0].tries && !list[0].refused && list[0].by === person);
  box.replaceChildren();
  if (box.hidden) return;
  const b = document.createElement("b");
  b.textContent = "Not yet on the record:";
  box.append(b);
  for (const h of list) {
    const row = document.createElement("p");
    box.append(row);
    const s = document.createElement("span");
    s.className = "fig";
    s.textContent = h.fields.value;
    row.append(h.title + " ", s);
    if (h.by !== person) {
      const whose = document.createElement("span");
      whose.textContent = "held until " + h.by + " signs in here";
      row.append(whose);
      continue;
    }
    if (h.refused) {
      const why = document.createElement("span");
      why.textContent = h.refused;
      const again = button("Put it back in the field", () => { hold(held().filter((x) => x.fields.id !== h.fields.id)); leave(h.fields.spot || title().spot, h.fields.value); });
      const drop = button("Leave it out", () => { hold(held().filter((x) => x.fields.id !== h.fields.id)); figure.focus(); });
      row.append(why, again, drop);
    }
  }
  if (box.scrollHeight > box.clientHeight) box.tabIndex = 0; else box.removeAttribute("tabindex"); // so that keys scroll it
}
function button(text, act) {
  const b = document.createElement("button");
  b.type = "button";
  b.className = "plain";
  b.textContent = text;
  b.addEventListener("click", act);
  return b;
}

// recent is what was kept last, where the page that stands here was made before.
let recent = null;
function lastOne() {
  const t = title();
  if (recent && recent.entry > Number(t.last || 0)) return recent;
  return t.last ? { entry: t.last, words: t.lastWords } : null;
}

let sending = false;
async function send() {
  if (sending) return;
  sending = true;
  for (;;) {
    const next = held().find((h) => !h.refused && h.fields.spot && h.by === person);
    if (!next) break;
    let answer, body;
    try {
      answer = await post("/readings", next.fields);
      body = await (answer.ok ? answer.json() : answer.text());
      if (answer.status >= 500 || answer.status === 429) throw body; // it is not refused: it comes later
    } catch {
      // More may have been kept meanwhile: only this one's count changes.
      next.tries = (next.tries || 0) + 1;
      hold(held().map((h) => (h.fields.id === next.fields.id ? next : h)));
      setTimeout(send, Math.min(2000, 250 * 2 ** next.tries));
      break;
    }
    const now = held();
    const mine = now.findIndex((h) => h.fields.id === next.fields.id);
    if (answer.ok) {
      if (mine >= 0) now.splice(mine, 1);
      hold(now);
      recent = { entry: body.entry, words: body.spot + " " + body.value };
      said(body.value + ". " + body.said);
      if (next.fields.read_by) called("Kept: " + next.title, body.value, "");
      if (body.asks) query(next.title, body);
      refresh();
      continue;
    }
    called("", "", "");
    if (answer.status === 401) {
      hold(now);
      signIn();
      break;
    }
    if (mine >= 0) now[mine].refused = body;
    hold(now);
    said(body);
  }
  sending = false;
}

function signIn() { location.href = "/sign-in?to=" + encodeURIComponent(base + "/bench?spot=" + encodeURIComponent(title().spot)); }

function post(path, fields) {
  return fetch(base + path, { method: "POST", signal: AbortSignal.timeout(8000), headers: { Accept: "application/json", "Content-Type": "application/x-www-form-urlencoded" }, body: new URLSearchParams(fields) });
}

// called shows large what the writer kept, for the caller to hear it read: blue
// until it is on the record.
function called(name, value, hand) {
  const box = $("called");
  box.hidden = !value;
  box.className = "called " + hand;
  box.firstElementChild.textContent = name;
  box.lastElementChild.textContent = value;
}

function said(text) { $("said").textContent = text; }

// query shows what the server asks about a reading that was kept, without
// stopping the hand.
function query(name, body) {
  const p = document.createElement("div");
  p.className = "query";
  const b = document.createElement("b");
  b.textContent = name + " " + body.value + " is kept.";
  p.append(b, " " + body.asks.join(" "));
  ask.replaceChildren(p);
}

// ---- from spot to spot ----

let ahead = null; // the next spot's parts, fetched before they are wanted
async function fetchSpot(spot) {
  const answer = await fetch(base + "/bench/spot?spot=" + encodeURIComponent(spot), { headers: { Accept: "text/html" }, signal: AbortSignal.timeout(8000) });
  if (answer.redirected) signIn();
  if (!answer.ok) throw new Error(await answer.text());
  return new DOMParser().parseFromString(await answer.text(), "text/html");
}

// swap puts a spot's parts in place, around the field, which stays. What the two
// spots have in common is left as it is: it need not be drawn again.
function swap(parts) {
  const here = title().spot;
  for (const id of ["route", "title", "settle", "lines", "look", "next"]) {
    const fresh = parts.getElementById(id);
    const old = $(id);
    if (!fresh || !old) continue;
    if (id !== "settle") alike(old, fresh);
    else if (!(old.contains(document.activeElement) && title().spot === here)) old.replaceWith(document.adoptNode(fresh)); // else it is in hand
  }
  moving = null;
  const t = title();
  form.elements.spot.value = t.spot;
  if (!form.classList.contains("pad-" + t.pad)) form.className = "pad-" + t.pad;
  if (featureOf(t.spot) !== recalled) recall(); // and else leave what is being typed there
  setting();
  write($("figure-label"), t.label);
  document.title = t.title + " · tenths";
  move();
  setTimeout(settled); // what can wait does: the next key may be there already
}

// settled follows what was swapped in: the page's own address, and the spot
// behind it.
function settled() {
  history.replaceState(null, "", base + "/bench?spot=" + encodeURIComponent(title().spot));
  prefetch();
}

// alike makes an element like a fresh one.
function alike(old, fresh) {
  if (old.isEqualNode(fresh)) return;
  for (const name of old.getAttributeNames()) if (!fresh.hasAttribute(name)) old.removeAttribute(name);
  for (const name of fresh.getAttributeNames()) put(old, name, fresh.getAttribute(name));
  let o = old.firstChild, f = fresh.firstChild;
  while (f) {
    const was = o, is = f;
    o = o && o.nextSibling;
    f = f.nextSibling;
    if (!was) old.append(document.adoptNode(is));
    else if (was.nodeName !== is.nodeName) was.replaceWith(document.adoptNode(is));
    else if (is.nodeType === Node.ELEMENT_NODE) alike(was, is);
    else if (was.data !== is.data) was.data = is.data;
  }
  while (o) {
    const was = o;
    o = o.nextSibling;
    was.remove();
  }
}

function prefetch() {
  const next = title().next;
  const one = (ahead = next ? { spot: next, come: null, parts: fetchSpot(next).catch(() => null) } : null);
  if (one) one.parts.then((parts) => { one.come = parts; });
}

async function refresh() {
  const spot = title().spot;
  try {
    const parts = await fetchSpot(spot);
    if (title().spot === spot) swap(parts);
  } catch { /* the next answer brings it */ }
}

// go moves to a spot. It does not touch the field: digits typed meanwhile are
// for the spot that comes. While the server does not answer it tries on.
let stuck = false;
async function go(spot) {
  if (!spot) return;
  for (let wait = 250; ; wait = Math.min(2000, wait * 2)) {
    try {
      const one = ahead && ahead.spot === spot ? ahead : null;
      const parts = one && (one.come || (await one.parts));
      ahead = null;
      swap(parts || (await fetchSpot(spot)));
      if (stuck) ask.replaceChildren();
      stuck = false;
      return;
    } catch {
      stuck = true;
      say("The server does not answer. What you kept is held in this browser; the next spot comes when it is back.");
      await new Promise((r) => setTimeout(r, wait));
    }
  }
}

// Moves follow each other, each once the one before has come.
let queue = Promise.resolve();
let waits = 0; // that have not come yet
function then(act) {
  waits++;
  queue = queue.then(act, act).finally(() => { waits--; });
  return queue;
}
function leave(spot, value = "") {
  edit(value);
  figure.focus();
  return then(() => go(spot));
}

function say(text) {
  const p = document.createElement("p");
  p.className = "query";
  p.textContent = text;
  ask.replaceChildren(p);
}

// ---- keeping ----

const kept = ["gauge", "temperature", "setting", "unit", "sense", "read_by", "step"];
const field = (name) => form.elements[name].value.trim();

// What the gauge is stays for the next spots: on this device, for this person.
// What it is set to stays for the things of one size: of one feature.
const memory = "tenths-gauge " + person;
const ofSize = ["setting", "unit", "sense"];
const featureOf = (spot) => spot.split(".").slice(0, 2).map((s) => s.replace(/-\d+$/, "")).join(".");
const gauge = { of: {} };
try { Object.assign(gauge, JSON.parse(sessionStorage.getItem(memory) || "{}")); } catch { /* nothing was kept */ }
const gaugeAt = (g, spot) => ({ ...g, ...g.of[featureOf(spot)] });

// plain is a figure without what gauges send before it, and feelers without the
// comma that waits for a second.
function plain(text, setting, pad) {
  text = text.trim().replace("−", "-").replace(/,$/, "").trimEnd();
  if (!setting && pad !== "dial") text = text.replace(/^\+\s*(?=[\d.])/, "");
  return text.replace(/^([+-]?)0+(?=\d)/, "$1");
}

let last = { value: "", at: 0, keyed: true };
let asking = false; // whether the same figure was meant twice
let behind = ""; // what came meanwhile, a line feed where the gauge ended it
function keep(now = performance.now()) {
  const value = figure.value.trim();
  if (!value) return;
  if (stuck) {
    say("The server does not answer: keep this in the field until the next spot has come.");
    return;
  }
  if (value === last.value && now - last.at < 150 && !last.keyed) {
    say("The same figure came again at once: was that the gauge, twice? Enter keeps it, Esc empties the field.");
    asking = true;
    return;
  }
  last = { value, at: now, keyed: false };
  const given = structuredClone(gauge);
  const typed = { id: crypto.randomUUID(), made: new Date().toISOString(), value };
  if (waits) hold(held().concat([{ by: person, title: "", fields: typed }]));
  if (ask.firstChild) ask.replaceChildren();
  figure.value = "";
  // The spot is the one that stands there once the moves before are done.
  then(() => {
    const t = title();
    const now = gaugeAt(given, t.spot);
    const fields = { ...typed, spot: t.spot, known: t.known, value: plain(value, now.setting, t.pad) };
    for (const k of kept) if (now[k]) fields[k] = now[k];
    if (fields.setting && !/^[+-]?[.\d]+\s*[a-zµ"]*$/i.test(fields.value)) delete fields.setting;
    if (!fields.setting) { delete fields.sense; delete fields.unit; }
    if (fields.read_by) called("Not yet kept: " + t.label, fields.value, "hand-t");
    else called("", "", "");
    const list = held(), at = list.findIndex((h) => h.fields.id === typed.id);
    list.splice(at < 0 ? list.length : at, 1, { by: person, title: t.label, fields });
    hold(list);
    const to = t.next || t.spot;
    if (!(ahead && ahead.spot === to && ahead.come)) move(); // else the next spot takes its place
    setTimeout(send);
    return go(to);
  });
}

// answered goes on behind the question, with the digits that waited.
function answered(meant, now) {
  const came = behind.split("\n");
  asking = false;
  behind = "";
  last.keyed = true;
  ask.replaceChildren();
  if (meant) keep(now);
  for (const figures of came.slice(0, -1)) {
    figure.value = figures;
    keep(now);
  }
  edit(came[came.length - 1]);
}

// ---- keys ----

const { strike: strikeReasons, skip: skipReasons } = JSON.parse($("reasons").dataset.reasons);

function reasons(heading, list, done) {
  const d = $("reasons");
  d.querySelector("h2").textContent = heading;
  const ol = d.querySelector("ol");
  const words = d.querySelector("label");
  words.hidden = true;
  const pick = (why) => { d.close(); figure.focus(); if (why) done(why); };
  ol.replaceChildren(...list.concat(["in words"]).map((text, i) => {
    const li = document.createElement("li");
    const b = button("", () => {
      if (i < list.length) return pick(text);
      words.hidden = false;
      words.querySelector("input").focus();
    });
    b.className = "key";
    const k = document.createElement("kbd");
    k.textContent = i + 1;
    b.append(text, k);
    li.append(b);
    return li;
  }));
  const input = words.querySelector("input");
  input.value = "";
  input.onkeydown = (e) => { if (e.key === "Enter") { e.preventDefault(); pick(input.value.trim()); } };
  d.onkeydown = (e) => {
    if (e.target === input || !/^[1-9]$/.test(e.key)) return;
    e.preventDefault();
    ol.children[e.key - 1]?.firstElementChild.click();
  };
  d.onclose = () => figure.focus();
  d.showModal();
  ol.querySelector("button").focus();
}

// Where more than one reading stands, the keys choose the wrong one, then why.
document.addEventListener("keydown", (e) => {
  const choose = e.target.closest("[data-settle]");
  if (!choose || e.ctrlKey || e.metaKey || e.altKey) return;
  if (e.key === "Escape") return figure.focus();
  if (!/^[1-9]$/.test(e.key) || e.target.name === "words") return;
  e.preventDefault();
  const words = choose.elements.words;
  const of = choose.elements.entry.value ? "why" : "entry";
  const pick = choose.querySelectorAll("[name=" + of + "]")[e.key - 1];
  if (pick) { pick.checked = true; pick.focus(); }
  if (of === "why" && pick) choose.requestSubmit();
  else if (of === "why") words.focus();
});
document.addEventListener("submit", async (e) => {
  const choose = e.target.closest("[data-settle]");
  if (!choose) return;
  e.preventDefault();
  try {
    const answer = await post("/strikes", { ...Object.fromEntries(new FormData(choose)), id: crypto.randomUUID() });
    if (!answer.ok) return say(await answer.text());
  } catch {
    return say("The server does not answer: nothing was struck.");
  }
  said("Struck.");
  called("", "", "");
  ask.replaceChildren();
  figure.focus();
  recent = null;
  ahead = null;
  refresh();
});

// strike waits for what is on its way: that is what was entered last.
async function strike() {
  const wrong = document.querySelector("#settle [name=entry]:enabled");
  if (wrong) {
    wrong.closest("details").open = true;
    return wrong.focus();
  }
  const waits = () => held().some((h) => h.by === person && !h.refused);
  for (let n = 0; n < 20 && waits(); n++) await new Promise((r) => setTimeout(r, 25));
  if (waits()) return say("What you kept last is not on the record yet: strike it when the server answers.");
  const last = lastOne();
  if (!last) return say("There is nothing of yours to strike.");
  reasons("Strike " + last.words + "?", strikeReasons, async (why) => {
    try {
      const answer = await post("/strikes", { id: crypto.randomUUID(), entry: last.entry, why });
      if (!answer.ok) return say(await answer.text());
    } catch {
      return say("The server does not answer: nothing was struck.");
    }
    said("Struck.");
    called("", "", "");
    recent = null;
    ahead = null;
    leave(last.words.split(" ")[0]);
  });
}

function skip() {
  const t = title();
  reasons("Skip " + t.label + "?", skipReasons, async (why) => {
    try {
      const answer = await post("/skips", { id: crypto.randomUUID(), spot: t.spot, why });
      if (!answer.ok) return say(await answer.text());
    } catch {
      return say("The server does not answer: the skip was not entered.");
    }
    leave(t.next || t.spot);
  });
}

const acts = {
  keep, strike, skip,
  back: () => leave(title().back),
  on: () => leave(title().next),
  rub: () => (figure.value ? edit(figure.value.slice(0, -1)) : leave(title().back)),
  help: () => $("help").showModal(),
  unit: other,
  gauge: () => { $("gauge").open = !$("gauge").open; },
};

function edit(text) {
  figure.value = text;
  last.keyed = true;
  asking = false;
  move();
}

// other writes the figure in inches where the book has millimetres, and the other
// way about, this once; again takes it back.
function other() {
  const unit = { in: "mm", mm: "in" }[title().unit];
  if (!unit) return;
  const [, bare, has] = /^(.*?)\s*([a-z]*)$/i.exec(figure.value);
  edit(has.toLowerCase() === unit ? bare : bare + " " + unit);
}

// A gauge types faster than any hand: its Tab keeps, a slow one moves on.
let times = [];
figure.addEventListener("keydown", (e) => {
  if (e.isComposing) return;
  const now = e.timeStamp; // when it was pressed: the page may have been busy since
  const pad = title().pad;
  const burst = times.length >= 3 && now - times[times.length - 3] < 60;
  const ending = (e.key === "Enter" || e.key === "Tab") && !figure.value && now - (times.at(-1) || 0) < 40; // the second half of an ending
  if (asking) {
    if (e.key.length === 1 && !e.ctrlKey && !e.metaKey) behind += e.key;
    else if (e.key === "Enter" && burst && behind && !behind.endsWith("\n")) behind += "\n";
    else if (e.key === "Enter") answered(true, now);
    else if (e.key === "Escape" || e.key === "Backspace") { figure.value = ""; answered(false, now); }
    else if (e.key !== "Tab") return;
    e.preventDefault();
    if (e.key.length === 1) times.push(now);
    times = times.slice(-8);
    return;
  }
  if (e.key === "Enter" || (e.key === "Tab" && burst && !e.shiftKey && figure.value)) {
    e.preventDefault();
    if (!ending) keep(now);
  } else if (ending) {
    e.preventDefault();
  } else if ((e.key === "Backspace" && !figure.value) || e.key === "ArrowUp") {
    e.preventDefault();
    acts.back();
  } else if (e.key === "ArrowDown") {
    e.preventDefault();
    acts.on();
  } else if (e.key === "Escape") {
    edit("");
    ask.replaceChildren();
  } else if (e.key === "/" && !figure.value) {
    e.preventDefault();
    strike();
  } else if (e.key === "*") {
    e.preventDefault();
    skip();
  } else if (e.key === "?") {
    e.preventDefault();
    acts.help();
  } else if (pad === "feeler" && /[oest, -]/.test(e.key) && e.key.length === 1 && /(goes, |does not)$/.test(figure.value)) {
    e.preventDefault(); // the word is written already
  } else if (pad === "feeler" && (e.key === "g" || e.key === "n") && /\d\s*$/.test(figure.value)) {
    e.preventDefault();
    edit(figure.value.trimEnd() + (e.key === "g" ? " goes, " : " does not"));
  } else if (pad === "yes" && (e.key === "y" || e.key === "n")) {
    e.preventDefault();
    edit(e.key === "y" ? "yes" : "no");
  } else if (pad === "yes" && /^[eso]$/.test(e.key) && /^(yes|no)$/.test(figure.value)) {
    e.preventDefault(); // the word is written already
  }
  if (e.key.length === 1) { times.push(now); if (now - last.at > 150) last.keyed = true; }
  if (e.key === "Enter" || e.key === "Tab") times.push(now);
  times = times.slice(-8);
});
figure.addEventListener("input", move);
form.addEventListener("submit", (e) => { e.preventDefault(); keep(); });

document.addEventListener("click", (e) => {
  const b = e.target.closest("[data-add], [data-set], [data-do]");
  if (b) {
    if (b.dataset.add !== undefined) edit(figure.value + b.dataset.add);
    if (b.dataset.set) edit(b.dataset.set);
    if (b.dataset.do) acts[b.dataset.do]();
    if (!document.querySelector("dialog[open]") && b.dataset.do !== "gauge") figure.focus();
    return;
  }
  const a = e.target.closest("a[href*='spot=']");
  if (a && bench.contains(a)) {
    const to = new URL(a.href);
    if (to.pathname !== location.pathname || to.searchParams.get("by")) return;
    e.preventDefault();
    leave(to.searchParams.get("spot"));
  }
});

// remember keeps what the fields say of the gauge.
function remember() {
  const at = gauge.of[featureOf(title().spot)] = {};
  for (const k of kept) (ofSize.includes(k) ? at : gauge)[k] = field(k);
  sessionStorage.setItem(memory, JSON.stringify(gauge));
}
form.addEventListener("change", () => {
  remember();
  setting();
  move();
});
// recall puts what is known of the gauge into the fields.
let recalled = featureOf(title().spot);
function recall() {
  recalled = featureOf(title().spot);
  const at = gaugeAt(gauge, title().spot);
  for (const k of kept) form.elements[k].value = at[k] || "";
}
function setting() {
  const set = field("setting");
  form.classList.toggle("set", !!set);
  write($("unit"), (set && field("unit")) || title().unit);
  write(document.querySelector('[data-do="gauge"]'), set ? "on " + set : field("gauge") || "gauge");
  const reader = field("read_by");
  const named = [...$("callers").options].find((o) => o.value === reader);
  write($("beside"), [field("gauge"), set && "set to " + set, reader && (named ? named.text : reader) + " reads"].filter(Boolean).map((t) => ", " + t).join(""));
}

if (matchMedia("(pointer: coarse)").matches) figure.inputMode = "none"; // our own keys
if (ask.querySelector(".query")) remember(); // what was refused stands there with what was said of the gauge
else {
  const at = (gauge.of[featureOf(title().spot)] ||= {}); // what this browser does not know, the server may
  for (const k of kept) (ofSize.includes(k) ? at : gauge)[k] ??= field(k);
  recall();
}
look();
setting();
hold(held().map((h) => (h.fields.spot ? h : { ...h, refused: "was typed before the page knew its spot, and the page was closed" })));
send();
move();
prefetch();
addEventListener("online", send);
addEventListener("focus", () => { if (document.activeElement === document.body) figure.focus(); });
if (!figure.value) figure.focus();
// What was typed before this script was there.
const early = window.tenthsEarly || [], rest = figure.value;
window.tenthsEarly = null;
for (const [value, at] of early) {
  if (asking) { behind += value + "\n"; continue; }
  figure.value = value;
  keep(at);
}
if (asking) behind += rest;
else if (early.length) edit(rest);
