// Runs before the app and keeps what goes wrong, also over a reload.
(() => {
  const KEY = "goldward-went-wrong";
  const read = () => { try { return JSON.parse(sessionStorage.getItem(KEY)) ?? []; } catch { return []; } };
  let seen = read();
  const keep = (kind, what) => {
    if (seen.length >= 40) return;
    seen.push(kind + ": " + String(what).slice(0, 1500));
    try { sessionStorage.setItem(KEY, JSON.stringify(seen)); } catch { /* nowhere to keep it */ }
  };
  addEventListener("error", (e) => keep("error", (e.error && e.error.stack && e.message + "\n" + e.error.stack) || e.message));
  addEventListener("unhandledrejection", (e) => keep("rejection", (e.reason && e.reason.stack) || e.reason));
  const log = console.error;
  console.error = (...words) => { keep("console", words.join(" ")); log.apply(console, words); };
  window.goldwardWentWrong = () => seen;
  // What is about to be pressed, and what was pressed instead when the page moved away under the finger.
  let aim = null, instead = null;
  addEventListener("pointerdown", (e) => {
    if (!aim) return;
    const wanted = aim();
    aim = null;
    if (wanted && !wanted.contains(e.target)) {
      const control = e.target.closest?.("a, button, input, select, textarea, label, summary, svg.face");
      instead = { control: !!control, what: String(e.target.outerHTML).slice(0, 120) };
    }
  }, true);
  window.goldwardAims = (at) => { aim = at; instead = null; };
  window.goldwardHitInstead = () => instead;
  window.goldwardForget = () => { seen = []; sessionStorage.removeItem(KEY); };
})();
