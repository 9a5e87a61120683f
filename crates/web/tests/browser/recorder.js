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
  // What is about to be pressed, and what was pressed instead when the page moved away under the finger; a press that never came
  // to the page counts as one that hit nothing. The last press and click are told with a failure.
  // A press whose click went to what holds the wanted element hit nothing either: the page moved under the finger.
  let aim = null, held = null, instead = null, last = {};
  const short = (e) => String(e?.outerHTML).slice(0, 120);
  addEventListener("click", (e) => {
    last.clicked = short(e.target);
    if (held?.isConnected && !held.contains(e.target) && e.target.contains(held)) instead = { control: false, what: short(e.target) };
    held = null;
  }, true);
  addEventListener("pointerdown", (e) => {
    last = { pressed: short(e.target) };
    if (!aim) return;
    const wanted = aim();
    aim = null;
    held = wanted?.contains(e.target) ? wanted : null;
    if (wanted && !wanted.contains(e.target)) {
      const control = e.target.closest?.("a, button, input, select, textarea, label, summary, svg.face");
      instead = { control: !!control, what: short(e.target) };
    }
  }, true);
  window.goldwardAims = (at) => { aim = at; held = instead = null; };
  window.goldwardHitInstead = () => instead ?? (aim ? { control: false, what: "nothing" } : null);
  window.goldwardLastPress = () => last;
  window.goldwardForget = () => { seen = []; sessionStorage.removeItem(KEY); };
})();
