// Starts the app; everything else is in the wasm module. Should the app break, this page says so, keeps what was not on the disk yet
// and gives the log out as a file: it needs nothing of the module for that.
import init from "./goldward_web.js";
import "./section.js";

// Fetched when it is wanted first.
globalThis.goldwardPicture = async (...told) => (await import("./picture.js")).picture(...told);

const PLAIN = [
  "Goldward has stopped: a fault of the app, not yours.",
  "Everything that was saved is still here.",
  "Start again",
  "Export the log as a file",
  "What happened, for those who mend it:",
];
let broken = false;

function result(asked) {
  return new Promise((resolve, reject) => {
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

// That of the account that is signed in here, or that of nobody.
async function database() {
  const nobody = await result(indexedDB.open("goldward"));
  const account = await result(nobody.transaction("meta").objectStore("meta").get("account"));
  return account ? result(indexedDB.open(`goldward-${JSON.parse(account).id}`)) : nobody;
}

// Whether the version of a record in line `a` is later than that in `b`: as the module has it, by time, counter and device.
function later(a, b) {
  try {
    const [x, y] = [JSON.parse(a).stamp, JSON.parse(b).stamp];
    if (x.ms !== y.ms) return x.ms > y.ms;
    if (x.counter !== y.counter) return x.counter > y.counter;
    return x.device > y.device;
  } catch {
    return true;
  }
}

// What the module had handed over for the disk and may not have got there. What is later there, of another window, stays.
async function keepTheRest() {
  const rest = [...(globalThis.goldwardHelp?.waiting ?? [])];
  if (rest.length === 0) return;
  const db = await database();
  await new Promise((resolve, reject) => {
    const act = db.transaction("records", "readwrite");
    const records = act.objectStore("records");
    for (const [key, line] of rest) {
      const there = records.get(key);
      there.onsuccess = () => {
        if (there.result === undefined || later(line, there.result)) records.put(line, key);
      };
    }
    act.oncomplete = resolve;
    act.onabort = () => reject(act.error);
  });
}

async function everything() {
  const lines = new Set();
  try {
    const db = await database();
    const all = await new Promise((resolve, reject) => {
      const asked = db.transaction("records").objectStore("records").getAll();
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => reject(asked.error);
    });
    for (const line of all) lines.add(line);
  } catch (error) {
    console.error(error);
  }
  for (const [, line] of globalThis.goldwardHelp?.waiting ?? []) lines.add(line);
  const header = globalThis.goldwardHelp?.header ?? '{"format":"goldward-log","schema":1}';
  return [header, ...lines].join("\n") + "\n";
}

async function exportLog() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([await everything()], { type: "application/x-ndjson" }));
  link.download = "goldward-log.jsonl";
  link.click();
}

function broke(why) {
  if (broken) return;
  broken = true;
  const [title, kept, again, out, told] = globalThis.goldwardHelp?.words ?? PLAIN;
  keepTheRest().catch((error) => console.error(error));
  // After whatever is going on has ended: the module must not be called again by what happens to the page.
  setTimeout(() => {
    const make = (kind, text, more = {}) => Object.assign(document.createElement(kind), { textContent: text }, more);
    const page = make("main", "", { id: "broken", className: "page" });
    const buttons = make("div", "", { className: "buttons" });
    buttons.append(
      make("button", out, { id: "broken-export", type: "button", onclick: exportLog }),
      make("button", again, { id: "broken-again", type: "button", className: "main", onclick: () => location.reload() }),
    );
    page.append(make("h1", title), make("p", kept), buttons, make("p", told), make("pre", String(why)));
    page.setAttribute("role", "alert");
    document.body.replaceChildren(page);
  }, 0);
}
globalThis.goldwardBroke = broke;

// A trap of the module, or an error that went through it and left it half way: nothing it does from now on can be trusted.
function judge(event) {
  const error = event.error ?? event.reason;
  const ours = error instanceof WebAssembly.RuntimeError || String(error?.stack ?? "").includes("goldward_web");
  if (ours) broke(error);
}
addEventListener("error", judge);
addEventListener("unhandledrejection", judge);

// Texts of the languages that the module does not have itself, each asked for once; after a failure it may be asked for again.
const SPOKEN = ["@LANGUAGES@"];
const texts = new Map();
globalThis.goldwardTexts = (code) => {
  if (!texts.has(code)) {
    // A line that brings nothing must not keep the app from being drawn.
    const asked = fetch(`./words-${code}.txt`, { signal: globalThis.AbortSignal?.timeout?.(10_000) })
      .then((answer) => answer.text())
      .then((text) => {
        // Not the page of a hotel's network.
        if (text.startsWith("goldward-words")) return text;
        throw new Error(`words-${code}.txt is none`);
      });
    asked.catch(() => texts.delete(code));
    texts.set(code, asked);
  }
  return texts.get(code);
};
// Most people keep the language of their device: fetched beside the module, not after it.
const first = (navigator.language ?? "").slice(0, 2).toLowerCase();
if (SPOKEN.includes(first)) globalThis.goldwardTexts(first);

init({ module_or_path: new URL("./goldward_web_bg.wasm", import.meta.url) }).catch((error) => {
  // What broke after the start is told by the page above.
  const starting = document.getElementById("starting");
  if (starting) starting.textContent = "Goldward could not start: " + error;
  else broke(error);
});
