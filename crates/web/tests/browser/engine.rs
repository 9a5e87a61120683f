//! The browsers: where they are, how each is started, and what only one of them can do.

use std::fs;
use std::io::{BufRead, BufReader};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Mutex;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::server::fresh_port;

const CHROMIUM_FLAGS: [&str; 10] = [
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

/// Shrinks the bars of WebKit's small browser to nothing, so that its window can be as narrow as a phone.
const NO_BARS: &str = "* { font-size: 1px; padding: 0; margin: 0; min-width: 0; min-height: 0; border-width: 0; }\n";
const SMALL_ICONS: &str = "[Settings]\ngtk-icon-sizes=gtk-menu=1,1:gtk-button=1,1:gtk-small-toolbar=1,1:gtk-large-toolbar=1,1\n\
    gtk-enable-animations=0\n";

/// A kind of browser.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Engine {
    Chromium,
    WebKit,
    Firefox,
}

impl Engine {
    pub const ALL: [Self; 3] = [Self::Chromium, Self::WebKit, Self::Firefox];

    pub fn name(self) -> &'static str {
        ["chromium", "webkit", "firefox"][self as usize]
    }

    /// Whether its driver has fingers. WebKit's knows a mouse only: there a finger is a pointer of the mouse, and a second
    /// finger is told to the page by events of our own.
    pub fn has_fingers(self) -> bool {
        self != Self::WebKit
    }

    /// Whether what is stored outlives the browser. WebKit's small browser forgets it when it is driven.
    pub fn keeps_data(self) -> bool {
        self != Self::WebKit
    }

    /// Whether network and speed can be slowed down.
    pub fn can_be_slowed(self) -> bool {
        self == Self::Chromium
    }

    /// Variable that names its driver, and where it usually is.
    fn driver(self) -> String {
        let (variable, places): (&str, Vec<PathBuf>) = match self {
            Self::Chromium => ("CHROMEDRIVER", vec!["/usr/bin/chromedriver".into()]),
            Self::WebKit => ("WEBKITDRIVER", vec!["/usr/bin/WebKitWebDriver".into()]),
            Self::Firefox => ("GECKODRIVER", vec![tools().join("bin/geckodriver"), "/usr/bin/geckodriver".into()]),
        };
        tool(variable, &places)
    }

    /// The browser itself.
    fn binary(self) -> String {
        let (variable, places): (&str, Vec<PathBuf>) = match self {
            Self::Chromium => (
                "CHROMIUM",
                ["chromium", "chromium-browser", "google-chrome"].map(|n| Path::new("/usr/bin").join(n)).into(),
            ),
            Self::WebKit => ("MINIBROWSER", small_browsers()),
            Self::Firefox => ("FIREFOX", ["firefox-esr", "firefox"].map(|n| Path::new("/usr/bin").join(n)).into()),
        };
        tool(variable, &places)
    }
}

/// Where `cargo xtask browser` puts programs that it builds for the tests.
fn tools() -> PathBuf {
    std::env::var_os("GOLDWARD_TOOLS")
        .map_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/tools"), PathBuf::from)
}

/// WebKit's small browser lies in a folder that bears the machine's name and the library's version.
fn small_browsers() -> Vec<PathBuf> {
    let folders = |of: &Path| fs::read_dir(of).into_iter().flatten().flatten().map(|e| e.path()).collect::<Vec<_>>();
    folders(Path::new("/usr/lib"))
        .into_iter()
        .filter(|p| p.to_string_lossy().ends_with("-linux-gnu"))
        .flat_map(|p| folders(&p))
        .filter(|p| p.file_name().is_some_and(|n| n.to_string_lossy().starts_with("webkit2gtk-")))
        .map(|p| p.join("MiniBrowser"))
        .collect()
}

fn tool(variable: &str, places: &[PathBuf]) -> String {
    std::env::var(variable).unwrap_or_else(|_| {
        places
            .iter()
            .find(|n| n.exists())
            .unwrap_or_else(|| {
                panic!("none of {places:?} is there: `cargo xtask browser` installs it, or set {variable}")
            })
            .to_string_lossy()
            .into_owned()
    })
}

/// A driver and everything it has started.
pub struct Driver {
    child: Child,
    /// Whose data it keeps: what names this folder belongs to it.
    data: PathBuf,
    pub port: u16,
}

impl Driver {
    /// Starts the driver of `engine`; its browser keeps its data in `data`. Another program may take the port first: the caller tries
    /// again.
    pub fn start(engine: Engine, data: &Path) -> Result<Self, String> {
        let port = fresh_port();
        let mut command = Command::new(engine.driver());
        command.arg(format!("--port={port}")).stdout(Stdio::null()).stderr(Stdio::null());
        match engine {
            Engine::Chromium => {}
            Engine::Firefox => {
                command.arg("--allow-system-access");
            }
            Engine::WebKit => {
                let settings = data.join("config/gtk-3.0");
                fs::create_dir_all(&settings).expect("a folder for settings");
                fs::write(settings.join("gtk.css"), NO_BARS).expect("a style");
                fs::write(settings.join("settings.ini"), SMALL_ICONS).expect("settings");
                command.arg("--host=127.0.0.1").env("DISPLAY", screen()).env("GDK_BACKEND", "x11");
                command.env("NO_AT_BRIDGE", "1").env("LC_ALL", "en_GB.UTF-8").env("GSETTINGS_BACKEND", "memory");
                for (name, folder) in [("CONFIG", "config"), ("DATA", "data"), ("CACHE", "cache")] {
                    command.env(format!("XDG_{name}_HOME"), data.join(folder));
                }
            }
        }
        let child = command.spawn().unwrap_or_else(|e| panic!("the driver of {engine:?}: {e}"));
        let mut driver = Self { child, data: data.to_owned(), port };
        let begun = Instant::now();
        while TcpStream::connect(("127.0.0.1", port)).is_err() {
            if let Ok(Some(status)) = driver.child.try_wait() {
                return Err(format!("the driver of {engine:?} ended ({status})"));
            }
            if begun.elapsed() > Duration::from_secs(20) {
                return Err(format!("the driver of {engine:?} does not answer"));
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        Ok(driver)
    }

    /// Ends the browser at once, as a phone does that runs out of battery; the driver stays.
    pub fn kill_browser(&self) {
        for pid in self.own().into_iter().filter(|pid| *pid != self.child.id()) {
            let _ = Command::new("kill").args(["-9", &pid.to_string()]).stderr(Stdio::null()).status();
        }
    }

    /// The driver, what came from it, and what names its folder of data: nobody else's.
    fn own(&self) -> Vec<u32> {
        let folder = self.data.to_string_lossy().into_owned();
        let all: Vec<(u32, u32, bool)> = fs::read_dir("/proc")
            .into_iter()
            .flatten()
            .flatten()
            .filter_map(|e| {
                let pid: u32 = e.file_name().to_str()?.parse().ok()?;
                let stat = fs::read_to_string(e.path().join("stat")).ok()?;
                let parent = stat.rsplit_once(") ")?.1.split(' ').nth(1)?.parse().ok()?;
                let words = fs::read(e.path().join("cmdline")).unwrap_or_default();
                let named = pid != std::process::id() && String::from_utf8_lossy(&words).contains(&folder);
                Some((pid, parent, named))
            })
            .collect();
        let mut own: Vec<u32> = all.iter().filter(|p| p.2).map(|p| p.0).chain([self.child.id()]).collect();
        loop {
            let more: Vec<u32> =
                all.iter().filter(|p| own.contains(&p.1) && !own.contains(&p.0)).map(|p| p.0).collect();
            if more.is_empty() {
                return own;
            }
            own.extend(more);
        }
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        // Also on failure: a browser without its driver would stay for ever.
        self.kill_browser();
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What the driver is asked for.
pub fn capabilities(engine: Engine, data: &Path) -> Value {
    let binary = engine.binary();
    match engine {
        Engine::Chromium => {
            let mut args: Vec<String> = CHROMIUM_FLAGS.iter().map(ToString::to_string).collect();
            args.push(format!("--user-data-dir={}", data.display()));
            args.push("--window-size=1280,800".to_owned());
            json!({ "goog:chromeOptions": { "binary": binary, "args": args } })
        }
        Engine::WebKit => json!({ "webkitgtk:browserOptions": { "binary": binary, "args": ["--automation"] } }),
        Engine::Firefox => json!({ "moz:firefoxOptions": {
            "binary": binary,
            "args": ["-headless", "-profile", data.display().to_string()],
            "prefs": {
                "dom.w3c_touch_events.enabled": 1,
                "intl.accept_languages": "en-GB, en",
                "intl.locale.requested": "en-GB",
                "app.update.enabled": false,
                "browser.shell.checkDefaultBrowser": false,
                "datareporting.policy.dataSubmissionEnabled": false,
                "toolkit.telemetry.enabled": false,
            },
        } }),
    }
}

static SCREEN: Mutex<Option<(Child, String)>> = Mutex::new(None);

/// A screen in memory for browsers that cannot do without, started when first asked for.
fn screen() -> String {
    let mut screen = SCREEN.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let (_, name) = screen.get_or_insert_with(|| {
        let mut child = Command::new(tool("XVFB", &["/usr/bin/Xvfb".into()]))
            .args(["-displayfd", "1", "-screen", "0", "1400x1000x24", "-nolisten", "tcp"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xvfb");
        let mut number = String::new();
        BufReader::new(child.stdout.take().expect("its words")).read_line(&mut number).expect("the screen's number");
        (child, format!(":{}", number.trim()))
    });
    name.clone()
}

/// Takes the screen down.
pub fn take_down_screen() {
    if let Some((mut child, _)) = SCREEN.lock().unwrap_or_else(std::sync::PoisonError::into_inner).take() {
        let _ = child.kill();
        let _ = child.wait();
    }
}
