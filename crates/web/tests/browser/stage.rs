//! A scenario and what it plays on: the browsers it has borrowed, and the look at them when it is over.

use std::future::Future;
use std::pin::Pin;
use std::sync::{Arc, Mutex};

use serde_json::Value;

use crate::browser::{Browser, Profile, borrow, give_back};
use crate::engine::Engine;
use crate::tab::Tab;

/// Something that is tried in one or more browsers.
#[derive(Clone)]
pub struct Scenario {
    pub name: String,
    pub engines: &'static [Engine],
    play: Arc<dyn Fn(Stage) -> Played + Send + Sync>,
}

/// A scenario that is being played.
pub type Played = Pin<Box<dyn Future<Output = ()> + Send>>;

impl Scenario {
    /// A scenario for every browser.
    pub fn new(name: &str, play: impl Fn(Stage) -> Played + Send + Sync + 'static) -> Self {
        Self { name: name.to_owned(), engines: &Engine::ALL, play: Arc::new(play) }
    }

    /// For these browsers only.
    pub fn only_in(self, engines: &'static [Engine]) -> Self {
        Self { engines, ..self }
    }
}

/// Scenarios of this file, in the browsers named, by default in all.
#[macro_export]
macro_rules! scenarios {
    ($($name:ident $(in $engines:expr)?),+ $(,)?) => {
        /// The scenarios of this file.
        pub fn all() -> Vec<$crate::stage::Scenario> {
            vec![$(
                $crate::stage::Scenario::new(stringify!($name), |stage| Box::pin($name(stage)))
                    .only_in($crate::scenarios!(@ $($engines)?))
            ),+]
        }
    };
    (@ $engines:expr) => { $engines };
    (@) => { &$crate::engine::Engine::ALL };
}

/// A browser, and whether it is lent.
type Borrowed = (Arc<Browser>, bool);

/// Where a scenario is played.
#[derive(Clone)]
pub struct Stage {
    pub engine: Engine,
    tabs: Arc<Mutex<Vec<Borrowed>>>,
}

impl Stage {
    fn new(engine: Engine) -> Self {
        Self { engine, tabs: Arc::default() }
    }

    async fn open(&self, browser: Browser, lent: bool, name: &str, url: &str, size: (u32, u32)) -> Tab {
        let browser = Arc::new(browser);
        self.tabs.lock().unwrap().push((browser.clone(), lent));
        let tab = Tab::new(browser, name, size);
        tab.must(tab.browser.resize(size).await).await;
        tab.must(tab.browser.goto(url).await).await;
        tab
    }

    /// A page in a browser that nobody else of this scenario has. Its data are fresh, since every server has a port of its own.
    pub async fn tab(&self, name: &str, url: &str, size: (u32, u32)) -> Tab {
        self.open(borrow(self.engine).await, true, name, url, size).await
    }

    /// A page in a browser of its own with the data of `profile`; it ends with the scenario.
    pub async fn own(&self, name: &str, url: &str, size: (u32, u32), profile: &Profile) -> Tab {
        self.open(Browser::start(self.engine, Some(&profile.0)).await, false, name, url, size).await
    }
}

/// Plays a scenario to its end; says why it failed. The browsers of one that failed are ended, the others lent again.
pub async fn play(scenario: &Scenario, engine: Engine) -> Result<(), String> {
    let stage = Stage::new(engine);
    let played = tokio::spawn((scenario.play)(stage.clone())).await;
    let tabs = std::mem::take(&mut *stage.tabs.lock().unwrap());
    played.map_err(|e| {
        let panic = e.into_panic();
        let text = panic.downcast_ref::<String>().cloned();
        text.or_else(|| panic.downcast_ref::<&str>().map(ToString::to_string)).unwrap_or_default()
    })?;
    for (browser, lent) in tabs {
        if let Ok(Value::Array(seen)) = browser.js("window.goldwardWentWrong?.()").await {
            if !seen.is_empty() {
                return Err(format!("the page told of errors: {seen:#?}"));
            }
        }
        if let (true, Some(browser)) = (lent, Arc::into_inner(browser)) {
            give_back(browser).await;
        }
    }
    Ok(())
}
