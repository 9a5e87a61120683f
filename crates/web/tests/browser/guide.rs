//! The pictures of the guide: made by what is played here, and held to what the app shows.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::json;

use crate::browser::decode;
use crate::engine::Engine;
use crate::server::Server;
use crate::stage::Stage;
use crate::tab::Tab;
use crate::{PHONE, scenarios, start_session};

scenarios!(the_pictures_of_the_guide_are_those_of_the_app in &[Engine::Chromium]);

/// Cells of 2,664, each some twenty pixels wide, that may differ by more than a sixth of all brightness. The same screen at another minute has none that
/// does, another language seventy and more, a button that is new a dozen.
const MOST: f64 = 8.0;

fn file(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/pictures/app").join(format!("{name}.webp"))
}

/// The screen as it is now is the picture of that name; where the pictures are to be made anew, it becomes it.
async fn is_shown(tab: &Tab, name: &str) {
    tab.settle().await;
    let shot = tab.cdp("Page.captureScreenshot", json!({ "format": "webp", "quality": 55 })).await;
    let now = shot["data"].as_str().and_then(decode).expect("a picture");
    let file = file(name);
    if std::env::var_os("GOLDWARD_PICTURES").is_some() {
        fs::create_dir_all(file.parent().expect("a folder")).expect("the folder of pictures");
        return fs::write(&file, now).expect("a picture");
    }
    let remedy = "make them anew with `cargo xtask pictures` and look at them";
    let Ok(kept) = fs::read(&file) else { tab.fail(&format!("no picture {name}: {remedy}")).await };
    let differs = format!(
        "(async () => {{
            const grey = async bytes => {{
                const picture = await createImageBitmap(new Blob([new Uint8Array(bytes)], {{ type: 'image/webp' }}), {{ resizeWidth: 36, resizeHeight: 74, resizeQuality: 'high' }});
                const canvas = document.createElement('canvas');
                canvas.width = 36; canvas.height = 74;
                const pen = canvas.getContext('2d');
                pen.drawImage(picture, 0, 0);
                const all = pen.getImageData(0, 0, 36, 74).data;
                return Array.from({{ length: 36 * 74 }}, (_, i) => (all[4 * i] + all[4 * i + 1] + all[4 * i + 2]) / 3);
            }};
            const [a, b] = [await grey({}), await grey({})];
            return a.filter((v, i) => Math.abs(v - b[i]) > 40).length;
        }})()",
        json!(kept),
        json!(now)
    );
    let differs = tab.js(&differs).await.as_f64().unwrap_or(f64::INFINITY);
    println!("{name} differs in {differs} cells");
    tab.check(differs <= MOST, &format!("{name} is not what is shown, in {differs} cells: {remedy}")).await;
}

async fn the_pictures_of_the_guide_are_those_of_the_app(stage: Stage) {
    for (i, language) in ["en", "de", "fr"].iter().enumerate() {
        let server = Server::start();
        let tab = stage.tab(&format!("guide-{language}"), &server.url(), PHONE).await;
        tab.ready().await;
        let phone = json!({ "width": PHONE.0, "height": PHONE.1, "deviceScaleFactor": 2, "mobile": true });
        tab.go("settings").await;
        tab.tap_nth("input[name=language]", i).await;
        tab.until(&format!("document.documentElement.lang === '{language}'")).await;
        tab.go("shoot").await;
        tab.tap("#try-demo").await;
        tab.wait_for(".session").await;
        start_session(&tab, false).await;
        for (x, y) in [(-40.0, 150.0), (30.0, 90.0), (-110.0, 120.0), (60.0, 190.0), (-20.0, 60.0), (-70.0, 210.0)] {
            tab.shoot(x, y, 610.0).await;
        }
        tab.saved().await;
        tab.cdp("Emulation.setDeviceMetricsOverride", phone).await;
        tab.settle().await;
        for screen in ["shoot", "marks", "report", "progress"] {
            tab.go(screen).await;
            if screen == "progress" {
                tab.wait_for("#progress:not([data-looking])").await;
            }
            // What is said of what was just done, and goes away by itself.
            tab.until("!document.querySelector('.toast') || document.querySelector('.toast').innerText === ''").await;
            // Of the marks, what those that were shot tell of the others.
            tab.js("document.querySelector('#predicted')?.previousElementSibling.scrollIntoView()").await;
            is_shown(&tab, &format!("{screen}-{language}")).await;
        }
        tab.cdp("Emulation.clearDeviceMetricsOverride", json!({})).await;
    }
}
