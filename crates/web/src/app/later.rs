//! The screens beside the shooting line: a second module, fetched while the first one is being used already.
//!
//! Whoever opens the app wants to shoot. What the other screens need is split off by `xtask` at [`draw`] and comes over the network
//! after the line has been drawn; the service worker keeps both. A module is never split at a place that is needed at the line.

use std::future::Future;
use std::pin::pin;
use std::task::{Context, Poll, Waker};

use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;
use wasm_split_helpers::{SplitLoaderError, wasm_split};

use super::state::{App, Later, Screen};
use super::whole::once_whole;
use super::{account, device, judge, screens};
use crate::words::Word;

/// A screen of the second module.
#[wasm_split(beside, fallible, preload(fetch))]
fn draw(screen: Screen) -> Result<AnyView, SplitLoaderError> {
    Ok(match screen {
        Screen::Shoot => {
            judge::leave(screens::duel::judge);
            ().into_any()
        }
        Screen::Match => screens::duel::view().into_any(),
        Screen::Explain => screens::explain::view().into_any(),
        Screen::Report => screens::report::view().into_any(),
        Screen::Marks => screens::marks::view().into_any(),
        Screen::Card => screens::card::view().into_any(),
        Screen::Progress => screens::progress::view().into_any(),
        Screen::Pacing => screens::pacing::view().into_any(),
        Screen::Kit => screens::kit::view().into_any(),
        Screen::Archers => screens::archers::view().into_any(),
        Screen::Settings => screens::settings::view().into_any(),
        Screen::Arrows => screens::arrows::view().into_any(),
        Screen::Compare => screens::compare::view().into_any(),
        Screen::Tune => screens::tune::view().into_any(),
        Screen::Aids => screens::aids::view().into_any(),
        Screen::Account => account::view().into_any(),
        Screen::Beside => account::beside::view().into_any(),
    })
}

/// Fetches the second module, again after a failure.
pub(super) async fn bring(app: App) {
    app.later.set(Later::Coming);
    // The line is drawn first.
    device::breathe().await;
    let here = fetch().await.is_ok();
    if here {
        // What the line needs of it.
        let _ = draw(Screen::Shoot).await;
    }
    app.later.set(if here { Later::Here } else { Later::Failed });
}

/// The screen, or that it is coming; follows [`App::later`].
pub(super) fn view(app: App, screen: Screen) -> AnyView {
    match app.later.get() {
        // At once: the module is here, nothing is waited for.
        Later::Here => once_whole(app, || match untrack(|| pin!(draw(screen)).poll(&mut Context::from_waker(Waker::noop()))) {
            Poll::Ready(Ok(view)) => view,
            _ => ().into_any(),
        }),
        Later::Coming => view! { <p class="page" role="status">{app.t(Word::StillComing)}</p> }.into_any(),
        Later::Failed => view! {
            <section class="page" role="alert">
                <p>{app.t(Word::PartNotHere)}</p>
                <div class="buttons"><button type="button" class="main" id="fetch-again" on:click=move |_| spawn_local(bring(app))>{app.t(Word::FetchAgain)}</button></div>
            </section>
        }
        .into_any(),
    }
}
