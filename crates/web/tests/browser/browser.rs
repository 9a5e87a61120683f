//! One browser with its driver, and the pool that lends browsers to scenarios.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::time::Duration;

use fantoccini::wd::WebDriverCompatibleCommand;
use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};

use crate::engine::{Driver, Engine, capabilities};

static NUMBER: AtomicU32 = AtomicU32::new(0);

/// A folder that lives as long as its owner.
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

/// A command to the driver: the address after the session's, and what is sent.
#[derive(Debug)]
struct Ask(http::Method, &'static str, Option<String>);

impl WebDriverCompatibleCommand for Ask {
    fn endpoint(&self, base: &url::Url, session: Option<&str>) -> Result<url::Url, url::ParseError> {
        base.join(&format!("session/{}{}", session.unwrap_or_default(), self.1))
    }

    fn method_and_body(&self, _: &url::Url) -> (http::Method, Option<String>) {
        (self.0.clone(), self.2.clone())
    }
}

/// A running browser with one window.
pub struct Browser {
    pub engine: Engine,
    client: Client,
    pub driver: Driver,
    /// Its data, when they are not another's.
    _own: Option<Profile>,
    size: Mutex<(u32, u32)>,
    /// Whether it is not to be lent again.
    spent: AtomicBool,
}

impl Browser {
    /// Starts a browser with the data in `folder`, or with fresh ones.
    pub async fn start(engine: Engine, folder: Option<&Path>) -> Self {
        let own = folder.is_none().then(Profile::fresh);
        let data = folder.map_or_else(|| own.as_ref().expect("one of the two").0.clone(), Path::to_path_buf);
        let mut tried = 0;
        let (driver, client) = loop {
            tried += 1;
            match Self::session(engine, &data).await {
                Ok(both) => break both,
                Err(e) if tried < 3 => eprintln!("once more: {e}"),
                Err(e) => panic!("{e}"),
            }
        };
        Self { engine, client, driver, _own: own, size: Mutex::default(), spent: AtomicBool::new(false) }
    }

    async fn session(engine: Engine, data: &Path) -> Result<(Driver, Client), String> {
        let driver = Driver::start(engine, data)?;
        let wanted = capabilities(engine, data);
        let address = format!("http://127.0.0.1:{}", driver.port);
        let mut builder = ClientBuilder::new(HttpConnector::new());
        builder.capabilities(wanted.as_object().expect("an object").clone());
        match tokio::time::timeout(Duration::from_secs(120), builder.connect(&address)).await {
            Ok(Ok(client)) => Ok((driver, client)),
            Ok(Err(e)) => Err(format!("no session with {engine:?}: {e}")),
            Err(_) => Err(format!("no session with {engine:?} within two minutes")),
        }
    }

    async fn ask(&self, ask: Ask) -> Result<Value, String> {
        let told = format!("{ask:?}");
        match tokio::time::timeout(Duration::from_secs(60), self.client.issue_cmd(ask)).await {
            Ok(answer) => answer.map_err(|e| e.to_string()),
            Err(_) => Err(format!("no answer within a minute to {told:.200}")),
        }
    }

    pub async fn post(&self, path: &'static str, body: Value) -> Result<Value, String> {
        self.ask(Ask(http::Method::POST, path, Some(body.to_string()))).await
    }

    pub async fn get(&self, path: &'static str) -> Result<Value, String> {
        self.ask(Ask(http::Method::GET, path, None)).await
    }

    pub async fn delete(&self, path: &'static str) -> Result<Value, String> {
        self.ask(Ask(http::Method::DELETE, path, None)).await
    }

    /// A command of Chromium's own protocol.
    pub async fn cdp(&self, command: &str, params: Value) -> Result<Value, String> {
        self.post("/goog/cdp/execute", json!({ "cmd": command, "params": params })).await
    }

    /// Evaluates an expression in the page; a promise is waited for.
    pub async fn js(&self, expression: &str) -> Result<Value, String> {
        let script = format!(
            "const done = arguments[arguments.length - 1]; Promise.resolve().then(() => ({expression}\n))\
             .then(v => done([v === undefined ? null : v]), e => done(String(e) + ' ' + (e && e.stack)));"
        );
        match self.post("/execute/async", json!({ "script": script, "args": [] })).await? {
            Value::Array(mut value) => Ok(value.pop().unwrap_or_default()),
            error => Err(error.to_string()),
        }
    }

    /// Makes the window's inside `size`; at the width of a phone it is one, where the browser can play one.
    pub async fn resize(&self, size: (u32, u32)) -> Result<(), String> {
        if self.engine == Engine::Chromium {
            let phone = size.0 < 600;
            let metrics = json!({ "width": size.0, "height": size.1, "deviceScaleFactor": 1, "mobile": phone });
            self.cdp("Emulation.setDeviceMetricsOverride", metrics).await?;
            self.cdp("Emulation.setTouchEmulationEnabled", json!({ "enabled": phone })).await?;
            self.cdp("Emulation.setCPUThrottlingRate", json!({ "rate": 1 })).await?;
            let free = json!({ "offline": false, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
            self.cdp("Network.emulateNetworkConditions", free).await?;
            self.cdp("Emulation.setLocaleOverride", json!({ "locale": "en-GB" })).await?;
            return Ok(());
        }
        if *self.size.lock().unwrap() == size {
            return Ok(());
        }
        if self.engine == Engine::Firefox {
            // Its window of its own accord is never as narrow as a phone.
            self.post("/moz/context", json!({ "context": "chrome" })).await?;
            let narrow = json!({ "script": "document.documentElement.style.minWidth = '0';", "args": [] });
            let done = self.post("/execute/sync", narrow).await;
            self.post("/moz/context", json!({ "context": "content" })).await?;
            done?;
        }
        // What is around the page is found out by trying.
        let mut outer = size;
        for _ in 0..5 {
            self.post("/window/rect", json!({ "x": 0, "y": 0, "width": outer.0, "height": outer.1 })).await?;
            let mut inner = (0, 0);
            let mut same = 0;
            while inner != size && same < 10 {
                tokio::time::sleep(Duration::from_millis(25)).await;
                let now = self.js("[innerWidth, innerHeight]").await?;
                let now = (now[0].as_u64().unwrap_or(0) as u32, now[1].as_u64().unwrap_or(0) as u32);
                same = if now == inner { same + 1 } else { 0 };
                inner = now;
            }
            if inner == size {
                *self.size.lock().unwrap() = size;
                return Ok(());
            }
            outer = ((outer.0 + size.0).saturating_sub(inner.0), (outer.1 + size.1).saturating_sub(inner.1));
        }
        let inner = self.js("[innerWidth, innerHeight]").await?;
        Err(format!("the window is {inner}, not {size:?}"))
    }

    /// It is not lent again: two fingers have been on it. In Chromium 156 the driver's fingers no longer reach the pages of another
    /// process after that; a page of the same site still feels them.
    pub fn spend(&self) {
        self.spent.store(self.engine == Engine::Chromium, Ordering::SeqCst);
    }

    pub async fn goto(&self, url: &str) -> Result<(), String> {
        self.post("/url", json!({ "url": url })).await.map(drop)
    }

    /// What is to be seen, as a PNG.
    pub async fn png(&self) -> Option<Vec<u8>> {
        decode(self.get("/screenshot").await.ok()?.as_str()?)
    }
}

static IDLE: Mutex<Vec<Browser>> = Mutex::new(Vec::new());

/// An idle browser, or a new one.
pub async fn borrow(engine: Engine) -> Browser {
    let idle = {
        let mut idle = IDLE.lock().unwrap();
        idle.iter().position(|b| b.engine == engine).map(|i| idle.swap_remove(i))
    };
    match idle {
        Some(browser) => browser,
        None => Browser::start(engine, None).await,
    }
}

/// Gives a browser back that did what it was asked for.
pub async fn give_back(browser: Browser) {
    if !browser.spent.load(Ordering::SeqCst) && browser.goto("about:blank").await.is_ok() {
        IDLE.lock().unwrap().push(browser);
    }
}

/// Ends the browsers that wait to be borrowed.
pub fn end_all() {
    IDLE.lock().unwrap().clear();
}

/// Base 64 (RFC 4648), as the browser writes it.
pub fn decode(text: &str) -> Option<Vec<u8>> {
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
    (!out.is_empty()).then_some(out)
}
