//! What a scenario does with a page, and how it fails.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::browser::Browser;
use crate::engine::Engine;
use crate::finger::At;

/// Where pictures are kept.
pub fn pictures() -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../build/screenshots");
    fs::create_dir_all(&folder).expect("the folder of screenshots");
    folder
}

/// A page in a browser.
pub struct Tab {
    pub browser: Arc<Browser>,
    name: String,
    size: (u32, u32),
}

impl Tab {
    pub fn new(browser: Arc<Browser>, name: &str, size: (u32, u32)) -> Self {
        Self { browser, name: name.to_owned(), size }
    }

    pub fn engine(&self) -> Engine {
        self.browser.engine
    }

    /// Whether it is touched rather than clicked: at the size of a phone, where the driver can.
    pub fn has_finger(&self) -> bool {
        self.size.0 < 600 && self.engine().has_fingers()
    }

    /// What a browser answered, or the end of the scenario.
    pub async fn must<T>(&self, answer: Result<T, String>) -> T {
        match answer {
            Ok(value) => value,
            Err(e) => self.fail(&e).await,
        }
    }

    /// A command of Chromium's own protocol.
    pub async fn cdp(&self, command: &str, params: Value) -> Value {
        self.must(self.browser.cdp(command, params).await).await
    }

    /// Evaluates an expression in the page; a promise is waited for.
    pub async fn js(&self, expression: &str) -> Value {
        self.must(self.browser.js(expression).await.map_err(|e| format!("{expression:.300}: {e}"))).await
    }

    pub async fn text(&self, selector: &str) -> String {
        let text = self.js(&format!("document.querySelector({})?.innerText ?? ''", json!(selector))).await;
        text.as_str().unwrap_or_default().trim().to_owned()
    }

    /// Waits until an expression is true; a page that is just being left answers later.
    pub async fn until(&self, expression: &str) {
        let begun = Instant::now();
        let asked = format!("!!({expression})");
        loop {
            let answer = self.browser.js(&asked).await;
            if answer == Ok(json!(true)) {
                return;
            }
            if begun.elapsed() > Duration::from_secs(60) {
                self.fail(&format!("waited in vain for {expression}: {answer:?}")).await;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }

    pub async fn wait_for(&self, selector: &str) {
        self.until(&format!("document.querySelector({})", json!(selector))).await;
    }

    /// Waits for the first screen.
    pub async fn ready(&self) {
        self.wait_for("#main *").await;
    }

    pub async fn saved(&self) {
        self.until("document.querySelector('.saving')?.dataset.state === 'saved'").await;
    }

    /// Taps the middle of an element with a finger, or clicks it with the mouse at a desk: it must be there, on the screen, enabled and
    /// not covered.
    pub async fn tap(&self, selector: &str) {
        self.tap_nth(selector, 0).await;
    }

    /// Taps one of several elements, counted from 0. A page that moved between the look and the press, so that nothing was hit, is
    /// pressed again, as a person does; one that put something else under the finger fails.
    pub async fn tap_nth(&self, selector: &str, n: usize) {
        for _ in 0..3 {
            let at = self.place(selector, n).await;
            self.tap_at(at).await;
            // A page that was left by the press has nothing to say.
            let instead = self.browser.js("window.goldwardHitInstead?.() ?? null").await.unwrap_or_default();
            if instead.is_null() {
                return;
            }
            if instead["control"] == true {
                self.fail(&format!("the page moved while {selector} ({n}) was pressed, and this was hit: {instead}"))
                    .await;
            }
        }
        self.fail(&format!("the page moves under {selector} ({n})")).await;
    }

    /// Where an element can be hit, once it can and stays there.
    async fn place(&self, selector: &str, n: usize) -> At {
        let found = self
            .js(&format!(
                "new Promise(done => {{ const begun = performance.now(); let last = null; \
                 const wanted = () => {{ const e = document.querySelectorAll({})[{n}]; \
                   return e?.matches('input[type=radio], input[type=checkbox]') ? e.closest('label') ?? e : e; }}; \
                 const look = () => {{ \
                 let e = wanted(), why = 'it is not there', at = null; \
                 if (e) {{ \
                 const hit = () => {{ const r = e.getClientRects()[0]; if (!r) return null; \
                   const at = [r.left + r.width / 2, r.top + r.height / 2], top = document.elementFromPoint(...at); \
                   why = 'it is covered by ' + top?.outerHTML.slice(0, 120); return top && e.contains(top) ? at : null; }}; \
                 if (e.disabled) why = 'it is disabled'; \
                 else {{ at = hit(); if (!at) {{ e.scrollIntoView({{ block: 'center', behavior: 'instant' }}); at = hit(); }} }} }} \
                 if (at && last && at[0] === last[0] && at[1] === last[1]) {{ window.goldwardAims?.(wanted); return done(at); }} \
                 last = at; \
                 if (performance.now() - begun > 15000) done(why); else setTimeout(look, at ? 15 : 25); }}; look(); }})",
                json!(selector)
            ))
            .await;
        match (found[0].as_f64(), found[1].as_f64()) {
            (Some(x), Some(y)) => (x, y),
            _ => self.fail(&format!("cannot tap {selector} ({n}): {found}")).await,
        }
    }

    /// Two frames: what was asked for is on the screen. A page that is being left by what was pressed takes its script with it, so
    /// the next one is asked.
    pub async fn settle(&self) {
        const FRAMES: &str =
            "new Promise(r => { setTimeout(r, 250); requestAnimationFrame(() => requestAnimationFrame(r)); })";
        for _ in 0..2 {
            if self.browser.js(FRAMES).await.is_ok() {
                return;
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        }
        self.js(FRAMES).await;
    }

    pub async fn fill(&self, selector: &str, value: &str) {
        self.put(selector, value, "input").await;
    }

    pub async fn choose(&self, selector: &str, value: &str) {
        self.put(selector, value, "change").await;
    }

    async fn put(&self, selector: &str, value: &str, event: &str) {
        self.wait_for(selector).await;
        self.js(&format!(
            "(() => {{ const e = document.querySelector({}); e.value = {}; e.dispatchEvent(new Event('{event}', {{bubbles: true}})); }})()",
            json!(selector),
            json!(value)
        ))
        .await;
    }

    /// Taps a field and writes into it, key by key, in place of what it held.
    pub async fn type_in(&self, selector: &str, text: &str) {
        self.tap(selector).await;
        self.js(&format!("document.querySelector({}).select()", json!(selector))).await;
        let keys: Vec<String> =
            if text.is_empty() { vec!["\u{e003}".to_owned()] } else { text.chars().map(String::from).collect() };
        self.keys(&keys.iter().map(String::as_str).collect::<Vec<_>>()).await;
    }

    pub async fn go(&self, screen: &str) {
        self.js(&format!("location.hash = '#/{screen}'")).await;
        self.settle().await;
    }

    /// Takes a log into the app, as if its file had been chosen, and waits until it is on the disk.
    pub async fn import(&self, log: &str, records: usize) {
        self.ready().await;
        self.go("settings").await;
        self.wait_for("#import").await;
        self.js(&format!(
            "(() => {{ const d = new DataTransfer(); d.items.add(new File([{}], 'log.jsonl')); const i = document.querySelector('#import'); i.files = d.files; i.dispatchEvent(new Event('change', {{ bubbles: true }})); }})()",
            json!(log)
        ))
        .await;
        self.until(&format!("document.querySelector('.toast').innerText.includes('{records}')")).await;
        self.saved().await;
    }

    /// The picture's rectangle: left, top, side.
    pub async fn face(&self) -> (f64, f64, f64) {
        let r = self
            .js("(() => { window.scrollTo(0, 0); const r = document.querySelector('.board svg.face').getBoundingClientRect(); return [r.left, r.top, r.width]; })()")
            .await;
        let n = |i: usize| r[i].as_f64().unwrap_or_default();
        (n(0), n(1), n(2))
    }

    /// A shot at a place on the face, in millimetres, with the whole face in view; tells the place that the pixel has.
    pub async fn shoot(&self, x_mm: f64, y_mm: f64, outer_mm: f64) -> (f64, f64) {
        let (left, top, side) = self.face().await;
        let k = side / (2.0 * 1.08 * outer_mm);
        let (mx, my) = (left + side / 2.0, top + side / 2.0);
        let (x, y) = ((mx + x_mm * k).round(), (my - y_mm * k).round());
        // Pressed and slid a little, which sets an arrow also where another one is; the arrow goes a quarter as far as the finger.
        self.touch(&[(x - 2.0, y), (x + 6.0, y)]).await;
        ((x - mx) / k, (my - y) / k)
    }

    /// The file of a picture: Chromium's have the plain names.
    fn file(&self, name: &str) -> PathBuf {
        let of = if self.engine() == Engine::Chromium { String::new() } else { format!("{}-", self.engine().name()) };
        pictures().join(format!("{of}{name}.png"))
    }

    pub async fn picture(&self, name: &str) {
        if let Some(png) = self.browser.png().await {
            fs::write(self.file(name), png).expect("a screenshot");
        }
    }

    /// The whole page, however long, where the browser can draw it.
    pub async fn whole(&self, name: &str) {
        if self.engine() != Engine::Chromium {
            return self.picture(name).await;
        }
        let size = self.js("[document.documentElement.scrollWidth, document.documentElement.scrollHeight]").await;
        let metrics = |height: &Value, mobile: bool| json!({ "width": self.size.0, "height": height, "deviceScaleFactor": 1, "mobile": mobile });
        let phone = self.size.0 < 600;
        self.cdp("Emulation.setDeviceMetricsOverride", metrics(&size[1], phone)).await;
        self.settle().await;
        self.picture(name).await;
        self.cdp("Emulation.setDeviceMetricsOverride", metrics(&json!(self.size.1), phone)).await;
    }

    pub async fn reload(&self) {
        self.must(self.browser.post("/refresh", json!({})).await).await;
        self.until("document.readyState === 'complete'").await;
        self.ready().await;
    }

    /// From now on a file that the page gives out is read into `window.kept` instead of being put into a folder (WebKit's driver
    /// now and then ends with the browser's own download).
    pub async fn catch_files(&self) {
        self.js(
            "(() => { window.kept = null; const blobs = new Map(), make = URL.createObjectURL, click = HTMLAnchorElement.prototype.click; \
             URL.createObjectURL = b => { const url = make.call(URL, b); blobs.set(url, b); return url; }; \
             HTMLAnchorElement.prototype.click = function () { if (this.hasAttribute('download') && blobs.has(this.href)) \
               blobs.get(this.href).text().then(t => window.kept = t); else click.call(this); }; return true; })()",
        )
        .await;
    }

    /// Back, as the browser's button or the phone's gesture does.
    pub async fn back(&self) {
        self.must(self.browser.post("/back", json!({})).await).await;
    }

    /// Ends the browser at once, as a phone does that runs out of battery.
    pub fn kill(&self) {
        self.browser.driver.kill_browser();
    }

    /// Prints what was on the screen, keeps a picture, and gives up.
    pub async fn fail(&self, why: &str) -> ! {
        let told = self.browser.js("[document.body?.innerText, { wrong: window.goldwardWentWrong?.() ?? [], press: window.goldwardLastPress?.() }]").await;
        let (shown, wrong) =
            told.map_or_else(|e| (e, Value::Null), |t| (t[0].as_str().unwrap_or("nothing").to_owned(), t[1].clone()));
        let picture = self.file(&format!("failed-{}", self.name));
        if let Some(png) = self.browser.png().await {
            let _ = fs::write(&picture, png);
        }
        panic!(
            "{} in {}: {why}\n--- errors told by the page ---\n{wrong:#}\n--- on the screen ---\n{shown}\n--- picture: {}",
            self.name,
            self.engine().name(),
            picture.display()
        );
    }

    /// Fails with what was on the screen unless `fine`.
    pub async fn check(&self, fine: bool, why: &str) {
        if !fine {
            self.fail(why).await;
        }
    }
}
