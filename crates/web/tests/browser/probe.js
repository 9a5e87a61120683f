// One look at the app between two acts of a random walk: what is wrong, what is in the log, and what can be touched next.
(async () => {
  const frames = () => new Promise((r) => { setTimeout(r, 250); requestAnimationFrame(() => requestAnimationFrame(r)); });
  const pause = (ms) => new Promise((r) => setTimeout(r, ms));
  if (location.protocol === "about:" || location.pathname === "/elsewhere") return { left: true };
  // Nothing leaves the page: no files, no printer.
  if (!window.goldwardStill) {
    window.goldwardStill = true;
    const click = HTMLAnchorElement.prototype.click;
    HTMLAnchorElement.prototype.click = function () { if (!this.download) click.call(this); };
    window.print = () => {};
    // Windows of the system, which no driver can reach: the chooser of files, the list of a select.
    // Whether an act was an Undo itself, also one that was hit by chance.
    addEventListener("click", (e) => { if (e.target.closest?.("#undo, #redo, #toast-undo")) window.goldwardUndos = (window.goldwardUndos ?? 0) + 1; }, true);
    addEventListener("click", (e) => { if (e.target.matches?.("input[type=file]")) e.preventDefault(); }, true);
    addEventListener("mousedown", (e) => { if (e.target.matches?.("select")) e.preventDefault(); }, true);
    addEventListener("keydown", (e) => { if (e.target.matches?.("select") && e.key !== "Tab") e.preventDefault(); }, true);
  }
  const begun = performance.now();
  while (!document.querySelector("#main *") && performance.now() - begun < 8000) await pause(30);
  await frames();
  const saving = () => document.querySelector(".saving")?.dataset.state;
  const from = performance.now();
  while (saving() === "saving" && performance.now() - from < 8000) await pause(15);

  const broken = [];
  for (const e of window.goldwardWentWrong?.() ?? ["the recorder of errors is not there"]) broken.push("the page told of an error: " + e);
  if (saving() === "saving") broken.push("it has been saving for eight seconds");
  if (saving() === "failed") broken.push("not saved: " + document.querySelector(".saving").innerText);
  const main = document.querySelector("#main");
  const text = document.body.innerText;
  if (!main || (main.innerText.trim().length < 3 && !main.querySelector("svg, [aria-busy='true']"))) broken.push("the screen is blank");

  // What nobody should ever read. What somebody has typed may be anything, so texts in quotes do not count.
  const told = text.replace(/[“„«"][^”“»"]{0,80}[”“»"]/g, "");
  for (const [name, absurd] of [
    ["not a number", /NaN/], ["undefined", /undefined/], ["null", /\bnull\b/], ["infinite", /\binf(inity)?\b|∞/i],
    ["an object", /\[object|Some\(|None\b.*\)|Err\(/], ["minus nothing", /(^|[^\d.,:–-])[-−–]0([.,]0+)?(?![\d.,:])/m],
    ["no arrows", /over 0 arrows|über 0 Pfeile|sur 0 flèche/], ["a gap", /\{\d?\}/], ["a panic", /unreachable|panicked|RuntimeError/],
  ]) {
    const found = told.match(absurd);
    if (found) broken.push(`absurd (${name}): …${told.slice(Math.max(0, found.index - 30), found.index + 40)}…`);
  }
  for (const [all, a, b] of told.matchAll(/(?<![\d/.,])(\d+) ?\/ ?(\d+)(?![\d/.,])/g)) {
    if (+a > +b) broken.push("more than there can be: " + all);
  }
  for (const [all, word, a, b] of told.matchAll(/(End|Ende|Passe|Volée) (\d+) (?:of|von|sur|\/) (\d+)/g)) {
    if (+a > +b) broken.push("an end beyond the last: " + all);
  }
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  if (wide > 1) {
    const edge = document.documentElement.clientWidth + 1;
    const all = [...document.querySelectorAll("body *")];
    const wider = (e) => e.getBoundingClientRect().right > edge || (e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflowX === "visible" && e.clientWidth > 0);
    const out = all.filter(wider);
    const name = (e) => `${e.tagName.toLowerCase()}#${e.id}.${e.getAttribute("class") ?? ""} to ${Math.round(e.getBoundingClientRect().right)}, ${e.scrollWidth} in ${e.clientWidth}`;
    broken.push(`the page is ${wide} px too wide: ${out.slice(0, 6).map(name).join(", ")}`);
  }

  // The log on the disk.
  const db = await new Promise((done) => { const r = indexedDB.open("goldward"); r.onsuccess = () => done(r.result); r.onerror = () => done(null); });
  const ask = (store, how) => new Promise((done) => { const r = how(db.transaction(store).objectStore(store)); r.onsuccess = () => done(r.result); r.onerror = () => done(null); });
  let lines = [], prefs = {};
  if (db) {
    if (db.objectStoreNames.contains("records")) {
      lines = (await ask("records", (s) => s.getAll())) ?? [];
      try { prefs = JSON.parse(await ask("meta", (s) => s.get("prefs"))) ?? {}; } catch { prefs = {}; }
    }
    db.close();
  }
  const live = new Map();
  let shots = 0, open = 0, points = 0;
  for (const line of lines) {
    const record = JSON.parse(line), kind = Object.keys(record.body)[0];
    if (kind === "deleted") continue;
    live.set(record.id, line.slice(line.indexOf('"body"')));
    if (kind === "shot") {
      shots += 1;
      if (record.body.shot.session === prefs.session) open += 1;
    }
  }
  const before = window.goldwardKept ?? new Map();
  window.goldwardKept = live;
  const differs = [];
  for (const [id, body] of live) if (before.get(id) !== body) differs.push((before.has(id) ? "changed " + before.get(id) + " to " : "new ") + body);
  for (const [id, body] of before) if (!live.has(id)) differs.push("gone " + body);
  // FNV-1a twice, with different seeds: a fingerprint of all that is alive.
  let one = 0x811c9dc5, two = 0x1b873593;
  for (const body of [...live].map(([id, b]) => id + b).sort()) {
    for (let i = 0; i < body.length; i += 1) {
      const c = body.charCodeAt(i);
      one = Math.imul(one ^ c, 0x01000193);
      two = Math.imul(two ^ c, 0x01000193) + 1;
    }
  }
  const hash = (one >>> 0).toString(16) + (two >>> 0).toString(16);

  // What the shooting line shows of it.
  let compared = false;
  const line = document.querySelector(".line");
  if (line && prefs.session) {
    const drawn = line.querySelectorAll("svg.face .lay path.shot").length;
    if (line.querySelector("svg.face")) {
      compared = true;
      if (drawn !== open) broken.push(`${open} arrows in the log, ${drawn} on the face`);
    }
    const total = Number(document.querySelector("#total")?.innerText ?? "0");
    if (!(total >= 0) || total > 11 * open) broken.push(`${total} points with ${open} arrows`);
  }

  // What can be touched.
  const targets = [];
  for (const e of document.querySelectorAll("[data-walk]")) delete e.dataset.walk;
  for (const e of document.querySelectorAll("button, a[href], select, input:not([type=file]), summary, [role=button], textarea")) {
    // What takes a log off the device for good is asked twice, and is not for a hand that knows nothing.
    if (e.disabled || e.matches(".remove-here, .remove-kept")) continue;
    if (e.matches("a") && !e.getAttribute("href").startsWith("#")) continue;
    const shown = e.matches("input[type=radio], input[type=checkbox]") ? (e.closest("label") ?? e) : e;
    const r = shown.getClientRects()[0];
    if (!r || r.width < 2 || r.height < 2) continue;
    const [x, y] = [r.left + r.width / 2, r.top + r.height / 2];
    const seen = x >= 0 && y >= 0 && x < innerWidth && y < innerHeight;
    if (seen) { const top = document.elementFromPoint(x, y); if (!top || !shown.contains(top)) continue; }
    const kind = e.matches("select") ? "select" : e.matches("input:not([type=radio]):not([type=checkbox]), textarea") ? (e.inputMode === "decimal" || e.type === "number" ? "number" : "text") : "press";
    const name = e.id ? "#" + e.id : (e.getAttribute("aria-label") || shown.innerText || e.className || e.tagName).trim().slice(0, 40);
    e.dataset.walk = targets.length;
    targets.push({ kind, name, x, y, seen, main: e.matches(".main, #start"), home: e.matches("a[href='#/shoot']") });
  }
  const face = document.querySelector(".board svg.face")?.getBoundingClientRect();
  const at = (s) => { const e = document.querySelector(s); if (!e || e.disabled) return null; const r = e.getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; };
  return {
    broken, hash, differs: differs.slice(0, 6), shots, live: live.size, compared, session: prefs.session ?? null, hashOf: location.hash,
    targets, face: face && face.top < innerHeight ? [face.left, face.top, face.width] : null, undos: window.goldwardUndos ?? 0, undo: at("#undo"), redo: at("#redo"), side: [innerWidth, innerHeight],
  };
})()
