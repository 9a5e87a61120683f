//! One Chromium with its driver, and what a test does with a page.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};

use fantoccini::wd::WebDriverCompatibleCommand;
use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};

const FLAGS: [&str; 10] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--force-device-scale-factor=1",
];

static NUMBER: AtomicU32 = AtomicU32::new(0);

/// Where pictures are kept.
pub fn pictures() -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../build/screenshots");
    fs::create_dir_all(&folder).expect("the folder of screenshots");
    folder
}

/// A profile that lives as long as the test.
pub struct Profile(pub PathBuf);

impl Profile {
    pub fn fresh() -> Self {
        let n = NUMBER.fetch_add(1, Ordering::SeqCst);
        let path = std::env::temp_dir().join(format!("goldward-browser-{}-{n}", std::process::id()));
        fs::create_dir_all(&path).expect("a folder for the profile");
        Self(path)
    }
}

impl Drop for Profile {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// A page in a browser of its own.
pub struct Tab {
    client: Client,
    driver: Child,
    profile: PathBuf,
    name: String,
}

#[derive(Debug)]
struct Cdp(String);

impl WebDriverCompatibleCommand for Cdp {
    fn endpoint(&self, base: &url::Url, session: Option<&str>) -> Result<url::Url, url::ParseError> {
        base.join(&format!("session/{}/goog/cdp/execute", session.unwrap_or_default()))
    }

    fn method_and_body(&self, _: &url::Url) -> (http::Method, Option<String>) {
        (http::Method::POST, Some(self.0.clone()))
    }
}

fn tool(variable: &str, names: &[&str]) -> String {
    std::env::var(variable).unwrap_or_else(|_| {
        names
            .iter()
            .find(|n| Path::new(n).exists())
            .unwrap_or_else(|| {
                panic!("none of {names:?} is there: install chromium and chromium-driver, or set {variable}")
            })
            .to_string()
    })
}

impl Tab {
    /// Opens `url` in a window of `size`, with the data of `profile`.
    pub async fn open(name: &str, url: &str, size: (u32, u32), profile: &Profile) -> Self {
        let mut driver = Command::new(tool("CHROMEDRIVER", &["/usr/bin/chromedriver"]))
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver");
        let mut lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        let port = lines
            .by_ref()
            .map_while(Result::ok)
            .filter(|l| l.contains("successfully"))
            .find_map(|l| l.rsplit_once("on port ").map(|(_, p)| p.trim().trim_end_matches('.').to_owned()))
            .expect("chromedriver tells its port");
        // Whatever else it says must not fill the pipe.
        std::thread::spawn(move || lines.for_each(drop));
        let mut args: Vec<String> = FLAGS.iter().map(ToString::to_string).collect();
        args.push(format!("--user-data-dir={}", profile.0.display()));
        args.push(format!("--window-size={},{}", size.0.max(500), size.1));
        let binary = tool("CHROMIUM", &["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"]);
        let caps = json!({ "goog:chromeOptions": { "binary": binary, "args": args } });
        let client = ClientBuilder::new(HttpConnector::new())
            .capabilities(caps.as_object().unwrap().clone())
            .connect(&format!("http://127.0.0.1:{port}"))
            .await;
        let client = match client {
            Ok(client) => client,
            Err(e) => {
                let _ = driver.kill();
                let _ = driver.wait();
                panic!("no browser session: {e}");
            }
        };
        let tab = Self { client, driver, profile: profile.0.clone(), name: name.to_owned() };
        let phone = size.0 < 600;
        tab.cdp(
            "Emulation.setDeviceMetricsOverride",
            json!({ "width": size.0, "height": size.1, "deviceScaleFactor": 1, "mobile": phone }),
        )
        .await;
        if phone {
            tab.cdp("Emulation.setTouchEmulationEnabled", json!({ "enabled": true })).await;
        }
        tab.cdp("Emulation.setLocaleOverride", json!({ "locale": "en-GB" })).await;
        tab.client.goto(url).await.expect("the page opens");
        tab
    }

    /// A command of the browser's own protocol.
    pub async fn cdp(&self, command: &str, params: Value) -> Value {
        let body = json!({ "cmd": command, "params": params }).to_string();
        match self.client.issue_cmd(Cdp(body)).await {
            Ok(value) => value,
            Err(e) => self.fail(&format!("{command}: {e}")).await,
        }
    }

    /// Evaluates an expression in the page; a promise is waited for.
    pub async fn js(&self, expression: &str) -> Value {
        let answer = self
            .cdp(
                "Runtime.evaluate",
                json!({ "expression": expression, "awaitPromise": true, "returnByValue": true, "userGesture": true }),
            )
            .await;
        if let Some(error) = answer.get("exceptionDetails") {
            self.fail(&format!("{expression}: {error}")).await
        }
        answer["result"]["value"].clone()
    }

    pub async fn text(&self, selector: &str) -> String {
        let text = self.js(&format!("document.querySelector({})?.innerText ?? ''", json!(selector))).await;
        text.as_str().unwrap_or_default().trim().to_owned()
    }

    /// Waits until an expression is true.
    pub async fn until(&self, expression: &str) {
        let begun = Instant::now();
        while self.js(&format!("!!({expression})")).await != json!(true) {
            if begun.elapsed() > Duration::from_secs(30) {
                self.fail(&format!("waited in vain for {expression}")).await;
            }
            tokio::time::sleep(Duration::from_millis(25)).await;
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

    pub async fn click(&self, selector: &str) {
        self.wait_for(selector).await;
        self.js(&format!("document.querySelector({}).click()", json!(selector))).await;
        self.settle().await;
    }

    /// Two frames: what was asked for is on the screen.
    pub async fn settle(&self) {
        self.js("new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r)))").await;
    }

    pub async fn fill(&self, selector: &str, value: &str) {
        self.wait_for(selector).await;
        self.js(&format!(
            "(() => {{ const e = document.querySelector({}); e.value = {}; e.dispatchEvent(new Event('input', {{bubbles: true}})); }})()",
            json!(selector),
            json!(value)
        ))
        .await;
    }

    pub async fn choose(&self, selector: &str, value: &str) {
        self.wait_for(selector).await;
        self.js(&format!(
            "(() => {{ const e = document.querySelector({}); e.value = {}; e.dispatchEvent(new Event('change', {{bubbles: true}})); }})()",
            json!(selector),
            json!(value)
        ))
        .await;
    }

    pub async fn go(&self, screen: &str) {
        self.js(&format!("location.hash = '#/{screen}'")).await;
        self.settle().await;
    }

    /// The picture's rectangle: left, top, side.
    pub async fn face(&self) -> (f64, f64, f64) {
        self.js("window.scrollTo(0, 0)").await;
        let r = self
            .js("(() => { const r = document.querySelector('.board svg.face').getBoundingClientRect(); return [r.left, r.top, r.width]; })()")
            .await;
        let n = |i: usize| r[i].as_f64().unwrap_or_default();
        (n(0), n(1), n(2))
    }

    /// A finger that goes down at the first point, slides through the others and lets go.
    pub async fn touch(&self, path: &[(f64, f64)]) {
        let point = |p: &(f64, f64)| json!([{ "x": p.0, "y": p.1, "id": 1 }]);
        self.cdp("Input.dispatchTouchEvent", json!({ "type": "touchStart", "touchPoints": point(&path[0]) })).await;
        for p in &path[1..] {
            self.cdp("Input.dispatchTouchEvent", json!({ "type": "touchMove", "touchPoints": point(p) })).await;
        }
        self.cdp("Input.dispatchTouchEvent", json!({ "type": "touchEnd", "touchPoints": [] })).await;
        self.settle().await;
    }

    /// A shot at a place on the face, in millimetres, with the whole face in view.
    pub async fn shoot(&self, x_mm: f64, y_mm: f64, outer_mm: f64) {
        let (left, top, side) = self.face().await;
        let k = side / (2.0 * 1.08 * outer_mm);
        let (x, y) = (left + side / 2.0 + x_mm * k, top + side / 2.0 - y_mm * k);
        // Pressed and slid a little, which sets an arrow also where another one is; the arrow goes a quarter as far as the finger.
        self.touch(&[(x - 2.0, y), (x + 6.0, y)]).await;
    }

    pub async fn picture(&self, name: &str) {
        let answer = self.cdp("Page.captureScreenshot", json!({ "format": "png" })).await;
        let Some(data) = answer["data"].as_str() else { return };
        fs::write(pictures().join(format!("{name}.png")), decode(data)).expect("a screenshot");
    }

    /// The whole page, however long.
    pub async fn whole(&self, name: &str) {
        let size = self.js("[document.documentElement.scrollWidth, document.documentElement.scrollHeight]").await;
        let clip = json!({ "x": 0, "y": 0, "width": size[0], "height": size[1], "scale": 1 });
        let ask = json!({ "format": "png", "captureBeyondViewport": true, "clip": clip });
        let answer = self.cdp("Page.captureScreenshot", ask).await;
        let Some(data) = answer["data"].as_str() else { return };
        fs::write(pictures().join(format!("{name}.png")), decode(data)).expect("a screenshot");
    }

    pub async fn reload(&self) {
        self.cdp("Page.reload", json!({})).await;
        self.until("document.readyState === 'complete'").await;
        self.ready().await;
    }

    /// Prints what was on the screen, keeps a picture, and gives up.
    pub async fn fail(&self, why: &str) -> ! {
        let ask = |expression: &str| {
            Cdp(json!({ "cmd": "Runtime.evaluate", "params": { "expression": expression, "returnByValue": true } })
                .to_string())
        };
        let text = self.client.issue_cmd(ask("document.body?.innerText")).await.ok();
        let shown = text.as_ref().and_then(|t| t["result"]["value"].as_str()).unwrap_or("nothing");
        let shot =
            self.client.issue_cmd(Cdp(json!({ "cmd": "Page.captureScreenshot", "params": {} }).to_string())).await.ok();
        let picture = pictures().join(format!("failed-{}.png", self.name));
        if let Some(data) = shot.as_ref().and_then(|s| s["data"].as_str()) {
            let _ = fs::write(&picture, decode(data));
        }
        panic!("{}: {why}\n--- on the screen ---\n{shown}\n--- picture: {}", self.name, picture.display());
    }

    /// Fails with what was on the screen unless `fine`.
    pub async fn check(&self, fine: bool, why: &str) {
        if !fine {
            self.fail(why).await;
        }
    }

    /// Ends the browser at once, as a phone does that runs out of battery: kill -9 of every process of this profile.
    pub fn kill(&self) {
        for pid in self.own_processes() {
            let _ = Command::new("kill").args(["-9", &pid.to_string()]).status();
        }
    }

    /// Processes that name this test's profile, and theirs: nobody else's.
    fn own_processes(&self) -> Vec<u32> {
        let profile = format!("--user-data-dir={}", self.profile.display());
        fs::read_dir("/proc")
            .into_iter()
            .flatten()
            .flatten()
            .filter_map(|e| e.file_name().to_str()?.parse::<u32>().ok())
            .filter(|pid| {
                fs::read(format!("/proc/{pid}/cmdline"))
                    .is_ok_and(|c| String::from_utf8_lossy(&c).split('\0').any(|a| a == profile))
            })
            .collect()
    }
}

impl Drop for Tab {
    fn drop(&mut self) {
        // Also on failure: a browser without its driver would stay for ever.
        self.kill();
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

/// Base 64 (RFC 4648), as the browser writes it.
fn decode(text: &str) -> Vec<u8> {
    let value = |b: u8| match b {
        b'A'..=b'Z' => Some(b - b'A'),
        b'a'..=b'z' => Some(b - b'a' + 26),
        b'0'..=b'9' => Some(b - b'0' + 52),
        b'+' => Some(62),
        b'/' => Some(63),
        _ => None,
    };
    let mut out = Vec::with_capacity(text.len() * 3 / 4);
    let (mut bits, mut count) = (0_u32, 0);
    for v in text.bytes().filter_map(value) {
        bits = bits << 6 | u32::from(v);
        count += 6;
        if count >= 8 {
            count -= 8;
            out.push((bits >> count & 0xff) as u8);
        }
    }
    out
}
