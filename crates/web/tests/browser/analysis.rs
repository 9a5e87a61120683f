//! Screens that look over many sessions: arrow by arrow, before and after, tuning, the aids at the line, the spread to begin with.

use goldward_core::flight::{Arrow, Conditions, Drag, Flight};
use goldward_core::random::Random;
use goldward_journal::{self as journal, Archer, Body, Kit, Log, Proven, Session, Uuid, Writer, jsonl};

use crate::access::usable;
use crate::scenarios;
use crate::server::Server;
use crate::shooting::records;
use crate::stage::Stage;
use crate::tab::Tab;
use crate::{DESK, PHONE};

scenarios!(
    the_bad_arrow_is_named_and_drawn,
    arrows_without_numbers_are_asked_for,
    what_the_moves_of_the_sight_gave_is_told,
    two_sets_are_compared_and_nobody_is_fooled_by_six,
    bareshafts_and_walking_groups_are_possibilities,
    wind_slope_and_the_wrong_mark_are_told_from_the_marks,
    arrows_of_a_kit_are_named_and_offered,
    habits_are_told_in_the_kit_and_can_be_left_out,
    a_session_begins_with_the_spread_that_was_shot,
    a_shot_is_marked_after_coming_back_to_the_line,
);

/// A log of an invented archer with one kit.
pub struct Book {
    log: Log,
    writer: Writer,
    random: Random,
    kit: Uuid,
    n: u64,
    begun: u64,
}

/// The first day of it, a month ago, in milliseconds since 1970 UTC: what lies long back says little.
fn begun() -> u64 {
    let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
    now.as_millis() as u64 - 30 * 86_400_000
}

/// An arrow of 57 m/s, as core flies it.
fn flight() -> Flight {
    Flight::new(Arrow::new(21.0, 5.5, Drag::default()).unwrap(), Conditions::default(), 57.0, 115.0).unwrap()
}

impl Book {
    pub fn new(seed: u64) -> Self {
        let id = |n: u8| journal::id::new_id(u64::from(n), [n; 10]);
        let mut writer = Writer::new(id(1), id(2));
        let mut log = Log::new();
        log.insert(
            writer.write_archer(1, Archer { name: "Rowan".into(), hand: Some(journal::Hand::Right), counted: None }),
        );
        let mut book = Self { log, writer, random: Random::stream(seed, 1), kit: id(1), n: 10, begun: begun() };
        let kit = Kit {
            name: "Invented bow".into(),
            hand: Some(journal::Hand::Right),
            eye_to_pin_mm: Some(880.0),
            eye_above_arrow_mm: Some(115.0),
            arrow_mass_g: Some(21.0),
            shaft_mm: Some(5.5),
            ..Kit::default()
        };
        book.kit = book.write(Body::Kit(Box::new(kit)));
        let flight = flight();
        for distance_m in [18.0, 30.0, 50.0, 70.0] {
            let elevation_reading = (8800.0 * flight.angle_for(distance_m).unwrap().tan()).round() / 10.0;
            let kit = book.kit;
            book.write(Body::Mark(journal::Mark {
                kit,
                distance_m,
                elevation_reading,
                windage_reading: None,
                reading_sd: None,
                proven: Proven::Shot,
                at_ms: book.begun,
                slope_deg: None,
                arrows: None,
            }));
        }
        book
    }

    fn write(&mut self, body: Body) -> Uuid {
        self.n += 1;
        let mut noise = [0; 10];
        noise[..8].copy_from_slice(&self.n.to_be_bytes());
        let record = self.writer.write(self.begun + self.n, noise, body);
        let id = record.id;
        self.log.insert(record);
        id
    }

    /// A session on its own day: `ends` ends of six arrows named 1 to 6, scattering by `mrad`, moved by `shift(end, arrow)` mrad.
    pub fn session(&mut self, metres: f64, ends: u32, mrad: f64, shift: impl Fn(u32, u32) -> (f64, f64)) -> Uuid {
        let days = self.log.len() as u64 / 20;
        let session = self.write(Body::Session(Session {
            at_ms: self.begun + 86_400_000 * days,
            distance_m: metres,
            face: "122".into(),
            round: None,
            kit: Some(self.kit),
            mark: None,
            sighting_ends: 0,
            ends,
            shots_per_end: 6,
            proven: None,
            match_by: None,
            opponent_arrow: None,
        }));
        for end in 1..=ends {
            for index in 1..=6 {
                let (a, b) = self.random.normal_pair();
                let (x, y) = shift(end, index);
                let tenth = |mm: f64| Some((10.0 * mm).round() / 10.0);
                self.write(Body::Shot(journal::Shot {
                    session,
                    end,
                    index,
                    x_mm: tenth(metres * (mrad * a + x)),
                    y_mm: tenth(metres * (mrad * b + y)),
                    call: None,
                    felt: (a.hypot(b) > 2.4).then_some(journal::Felt::Bad),
                    arrow: Some(index.to_string()),
                    spot: None,
                    at_ms: None,
                }));
            }
        }
        session
    }

    /// Six sessions in which each sixth arrow goes right, the arm sinks, and a click gives a fifth more than the kit says.
    fn habits() -> Self {
        let mut book = Self::new(12);
        for _ in 0..6 {
            // Forty clicks right and back again: 5.45 mrad to the left in between.
            let pulled = |end: u32| if (end / 2) % 2 == 1 { -5.454 } else { 0.0 };
            let shift = |end: u32, arrow: u32| {
                let bad = if arrow == 6 && end % 2 == 0 { 5.0 } else { 0.0 };
                (pulled(end - 1) + bad, -0.15 * f64::from(end))
            };
            let session = book.session(70.0, 8, 1.2, shift);
            for (after_end, right_mm) in [(2, 4.0), (4, -4.0), (6, 4.0)] {
                book.write(Body::Touch(journal::Touch {
                    session,
                    after_end,
                    after_index: 6,
                    right_mm,
                    up_mm: 0.0,
                    advised_right_mm: None,
                    advised_up_mm: None,
                    at_ms: None,
                }));
            }
        }
        book
    }

    /// A season in which arrow 4 flies low and right and the last session is tighter.
    pub fn season() -> Self {
        let mut book = Self::new(11);
        let off = |_, arrow| if arrow == 4 { (2.4, -2.2) } else { (0.0, 0.0) };
        book.session(18.0, 8, 2.2, off);
        book.session(50.0, 8, 2.2, off);
        book.session(70.0, 10, 2.2, off);
        book.session(70.0, 10, 1.3, off);
        book
    }

    /// Takes the log into the app.
    pub async fn import(&self, tab: &Tab) {
        tab.import(&jsonl::write(&self.log), self.log.len()).await;
    }
}

async fn with(stage: &Stage, name: &str, size: (u32, u32), book: &Book) -> (Server, Tab) {
    let server = Server::start();
    let tab = stage.tab(name, &server.url(), size).await;
    book.import(&tab).await;
    (server, tab)
}

/// Presses one of the two buttons of session `i`, the latest first.
async fn pick(tab: &Tab, i: usize, set: &str) {
    tab.wait_for(".picks button").await;
    tab.tap_nth(&format!(".picks [data-act={set}]"), i).await;
}

async fn the_bad_arrow_is_named_and_drawn(stage: Stage) {
    for (size, name) in [(PHONE, "phone-arrows"), (DESK, "desk-arrows")] {
        let (_server, tab) = with(&stage, name, size, &Book::season()).await;
        tab.go("progress").await;
        tab.picture(&format!("{name}-way")).await;
        tab.tap(".links a[href='#/arrows']").await;
        tab.wait_for(".map svg").await;
        let told = tab.text("#said").await;
        tab.check(told.starts_with("Inspect arrow 4: it lands "), &told).await;
        tab.check(told.contains("low-right of the others at 70 m"), &told).await;
        tab.check(told.contains("Never shoot a damaged arrow"), "the caution").await;
        let named = tab.js("[...document.querySelectorAll('.map .label')].map(t => t.textContent).sort().join()").await;
        tab.check(named == "1,2,3,4,5,6", &format!("{named}")).await;
        // Low and right of the middle in the picture, the only one that is marked out.
        let at = tab.js("(() => { const l = document.querySelectorAll('.map .label.flyer'); return l.length + ' ' + l[0].textContent + ' ' + (l[0].x.baseVal[0].value > 20 && l[0].y.baseVal[0].value > 20); })()").await;
        tab.check(at == "1 4 true", &format!("{at}")).await;
        tab.check(told.contains("felt bad"), "felt marks").await;
        tab.whole(name).await;
        usable(&tab, name).await;
    }
}

/// A sight that is moved as advised: the report and the progress say what that gave, with its interval, and draw the sight against where it
/// should have stood.
async fn what_the_moves_of_the_sight_gave_is_told(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("moves", &server.url(), PHONE).await;
    crate::start_session(&tab, false).await;
    for (x, y) in [(-180.0, 150.0), (-90.0, 230.0), (-270.0, 190.0), (-170.0, 60.0), (-250.0, 90.0), (-100.0, 120.0)] {
        tab.shoot(x, y, 610.0).await;
    }
    tab.until("document.querySelector('.answer').dataset.state === 'touch'").await;
    tab.tap("#done").await;
    for (x, y) in [(20.0, 50.0), (-60.0, -40.0), (70.0, -60.0)] {
        tab.shoot(x, y, 610.0).await;
    }
    tab.go("report").await;
    tab.wait_for("#moves svg").await;
    let told = tab.text("#moves").await;
    tab.check(told.contains("1 move of the sight gave +"), &told).await;
    tab.whole("phone-moves").await;
    // On a desk and on a small phone, in the languages with longer words: nothing lies beside the window.
    for language in ["de", "fr"] {
        for (name, size) in [("desk", crate::DESK), ("small", (320, 568))] {
            tab.must(tab.browser.resize(size).await).await;
            crate::in_the_hand::speak(&tab, language).await;
            tab.go("report").await;
            tab.wait_for("#moves svg").await;
            tab.js("document.querySelector('#moves').scrollIntoView({ behavior: 'instant' })").await;
            tab.picture(&format!("{name}-moves-{language}")).await;
            let wide = tab.js("[document.documentElement.scrollWidth, innerWidth]").await;
            tab.check(wide[0].as_f64() <= wide[1].as_f64(), &format!("{name} in {language}: {wide}")).await;
        }
    }
    tab.must(tab.browser.resize(PHONE).await).await;
    crate::in_the_hand::speak(&tab, "en").await;
    tab.go("progress").await;
    tab.until("document.querySelector('#progress')?.textContent.includes('1 move gave +')").await;
    // A session is opened from there, and the page is gone in the midst of looking back.
    tab.tap(".page td button").await;
    tab.wait_for("#moves svg").await;
    tab.go("progress").await;
    tab.js("document.querySelector('.page td button').click()").await;
    tab.wait_for("#moves svg").await;
}

async fn arrows_without_numbers_are_asked_for(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("no-arrows", &server.url(), PHONE).await;
    crate::start_session(&tab, false).await;
    for x in 0..7 {
        tab.shoot(f64::from(x) * 15.0, 20.0, 610.0).await;
    }
    tab.go("arrows").await;
    tab.wait_for("#said > *").await;
    let told = tab.text("#said").await;
    tab.check(told.contains("Give shots an arrow number"), &told).await;
}

async fn two_sets_are_compared_and_nobody_is_fooled_by_six(stage: Stage) {
    for (size, name) in [(PHONE, "phone-compare"), (DESK, "desk-compare")] {
        let (_server, tab) = with(&stage, name, size, &Book::season()).await;
        tab.go("compare").await;
        tab.wait_for("#said > *").await;
        tab.check(tab.text("#said").await.starts_with("Choose one session"), "asks for both").await;
        pick(&tab, 1, "a").await;
        pick(&tab, 0, "b").await;
        tab.wait_for(".map svg").await;
        let told = tab.text("#said").await;
        tab.check(
            ["B is tighter than A (true 9", "B is tighter than A (true over 99"].iter().any(|t| told.starts_with(t)),
            &told,
        )
        .await;
        tab.check(told.contains("six arrows cannot") && told.contains("9 times in 10"), &told).await;
        let lines = tab.js("document.querySelectorAll('.map polyline').length").await;
        tab.check(lines == 3, &format!("{lines} lines of power")).await;
        tab.whole(name).await;
        usable(&tab, name).await;
        // In turn: too few partners is said, not hidden.
        tab.tap_nth("input[name=in-turn]", 1).await;
        tab.settle().await;
        tab.check(tab.text("#said").await.contains("Pair by pair"), "pairs").await;
        // Everything from the last day on against everything before.
        tab.js("(() => { const s = document.querySelector('#split'); s.selectedIndex = 1; s.dispatchEvent(new Event('input', { bubbles: true })); })()").await;
        tab.settle().await;
        let sets = tab.js("[...document.querySelectorAll('.picks li')].map(l => [...l.querySelectorAll('[aria-pressed=true]')].map(b => b.dataset.act).join('')).join()").await;
        tab.check(sets == "b,a,a,a", &format!("{sets}")).await;
    }
}

async fn bareshafts_and_walking_groups_are_possibilities(stage: Stage) {
    let mut book = Book::new(5);
    for (metres, mrad) in [(18.0, 0.0), (30.0, 2.0), (50.0, 5.0)] {
        book.session(metres, 6, 1.2, move |_, arrow| if arrow > 4 { (mrad - 7.0, 0.0) } else { (mrad, 0.0) });
    }
    for (size, name) in [(PHONE, "phone-tune"), (DESK, "desk-tune")] {
        let (_server, tab) = with(&stage, name, size, &book).await;
        tab.go("tune").await;
        for i in 0..3 {
            pick(&tab, i, "a").await;
            pick(&tab, i, "b").await;
        }
        tab.wait_for("[data-act=bare]").await;
        for arrow in [4, 5] {
            tab.tap_nth("[data-act=bare]", arrow).await;
            tab.settle().await;
        }
        tab.wait_for(".map svg").await;
        let told = tab.text("#said").await;
        tab.check(told.contains("the bareshafts land") && told.contains("left of the fletched"), &told).await;
        tab.check(told.contains("Possible: the shaft acts too stiff"), &told).await;
        tab.check(told.contains("never verdicts") && told.contains("The groups walk"), &told).await;
        let pictures = tab.js("document.querySelectorAll('.map svg').length").await;
        tab.check(pictures == 2, &format!("{pictures} pictures")).await;
        tab.whole(name).await;
        usable(&tab, name).await;
    }
}

async fn wind_slope_and_the_wrong_mark_are_told_from_the_marks(stage: Stage) {
    for (size, name) in [(PHONE, "phone-aids"), (DESK, "desk-aids")] {
        let (_server, tab) = with(&stage, name, size, &Book::season()).await;
        tab.go("marks").await;
        tab.wait_for("#predicted").await;
        tab.tap(".links a[href='#/aids']").await;
        tab.wait_for("#said .told-answer").await;
        let wind = tab.text("#said").await;
        tab.check(wind.contains("At 70 m this wind") && wind.contains("left") && wind.contains("clicks left"), &wind)
            .await;
        tab.fill("#wind", "99").await;
        tab.check(tab.text("main").await.contains("From 0 to 30 m/s"), "no such wind").await;
        tab.fill("#wind", "4").await;
        let slope = tab.text("#said").await;
        tab.check(slope.contains("on the level") && slope.contains("close and safe"), &slope).await;
        tab.fill("#aid-distance", "50").await;
        let high = 1000.0 * flight().fly(flight().angle_for(70.0).unwrap(), 50.0).unwrap().height_m;
        tab.fill("#high", &format!("{high:.0}")).await;
        let wrong = tab.text("#said").await;
        tab.check(wrong.contains("This looks like the 70 m mark at 50 m"), &wrong).await;
        tab.whole(name).await;
        usable(&tab, name).await;
    }
}

async fn habits_are_told_in_the_kit_and_can_be_left_out(stage: Stage) {
    let (_server, tab) = with(&stage, "kit-habits", PHONE, &Book::habits()).await;
    tab.go("kit").await;
    tab.tap(".sessions .session").await;
    tab.wait_for("#k-habits").await;
    // Nobody waits for them who does not ask.
    let closed = tab.js("document.querySelector('#k-habits > div').innerHTML").await;
    tab.check(closed == "", &format!("{closed}")).await;
    tab.tap("#k-habits summary").await;
    tab.wait_for("#k-habits .told-answer").await;
    let told = tab.text("#k-habits").await;
    for what in [
        "Your bad shots land",
        "right",
        "A touch of your sight moves",
        "You set the sight",
        "low on average",
        "four days in five",
    ] {
        tab.check(told.contains(what), &format!("{what}: {told}")).await;
    }
    let gives = tab.js("+document.querySelector('#k-habits').innerText.match(/moves the arrows (\\d+)/)[1]").await;
    tab.check(gives.as_f64().is_some_and(|g| (108.0..128.0).contains(&g)), &told).await;
    tab.whole("phone-habits").await;
    usable(&tab, "habits").await;
    // What cannot be is refused, and nothing of the form is lost.
    tab.tap_nth("input[name=k-habits-used]", 1).await;
    tab.fill("#k-setting", "-1").await;
    tab.tap("#save-kit").await;
    let (form, kits) = (tab.text("main").await, records(&tab, "kit").await);
    tab.check(form.contains("From 0 to 20") && kits.iter().all(|k| k["habits"].is_null()), &form).await;
    tab.fill("#k-setting", "0.3").await;
    tab.tap("#save-kit").await;
    tab.wait_for("#new-kit").await;
    let kits = records(&tab, "kit").await;
    tab.check(kits.iter().any(|k| k["habits"] == false && k["setting_sd_mm"] == 0.3), &format!("{kits:?}")).await;
    // They are shown all the same, as left out, and come back.
    tab.tap(".sessions .session").await;
    tab.tap("#k-habits summary").await;
    tab.wait_for("#k-habits .told-answer").await;
    let told = tab.text("#k-habits").await;
    tab.check(told.contains("does not use them") && told.contains("A touch of your sight"), &told).await;
    tab.tap_nth("input[name=k-habits-used]", 0).await;
    tab.tap("#save-kit").await;
    tab.wait_for("#new-kit").await;
    let kits = records(&tab, "kit").await;
    tab.check(kits.iter().any(|k| k["habits"] == true), &format!("{kits:?}")).await;
}

async fn arrows_of_a_kit_are_named_and_offered(stage: Stage) {
    let (_server, tab) = with(&stage, "kit-arrows", PHONE, &Book::new(1)).await;
    tab.go("kit").await;
    tab.tap(".sessions .session").await;
    tab.fill("#k-side-reading", "3.5").await;
    tab.fill("#k-side-unit", "1").await;
    tab.fill("#k-setting", "0.05").await;
    tab.fill("#k-arrows", "A1 A2 B7").await;
    tab.tap("[data-act=add-arrows]").await;
    tab.settle().await;
    tab.tap_nth("[data-act=retire]", 1).await;
    tab.settle().await;
    tab.check(tab.text(".picks").await.contains("A2 (retired)"), "A2 is retired").await;
    tab.js("document.querySelector('#k-arrows').scrollIntoView({ block: 'center' })").await;
    tab.picture("phone-kit-arrows").await;
    usable(&tab, "arrows of a kit").await;
    tab.tap("#save-kit").await;
    let kits = records(&tab, "kit").await;
    tab.check(kits.iter().any(|k| k["windage_reading"] == 3.5 && k["setting_sd_mm"] == 0.05), &format!("{kits:?}"))
        .await;
    let arrows = records(&tab, "arrow").await;
    tab.check(arrows.len() == 3 && arrows.iter().filter(|a| a["retired"] == true).count() == 1, &format!("{arrows:?}"))
        .await;
    tab.go("shoot").await;
    crate::start_session(&tab, false).await;
    tab.shoot(40.0, 20.0, 610.0).await;
    tab.tap("[data-shot='1']").await;
    let names = tab.js("[...document.querySelectorAll('.arrows [data-value]')].map(b => b.textContent).join()").await;
    tab.check(names == "A1,B7", &format!("{names}")).await;
    tab.tap_nth(".arrows [data-value]", 1).await;
    let shots = records(&tab, "shot").await;
    tab.check(shots[0]["arrow"] == "B7", &format!("{shots:?}")).await;
    tab.picture("phone-shot-arrows").await;
}

async fn a_session_begins_with_the_spread_that_was_shot(stage: Stage) {
    let mut book = Book::new(2);
    book.session(70.0, 8, 1.2, |_, _| (0.0, 0.0));
    let (_server, tab) = with(&stage, "prior", PHONE, &book).await;
    tab.go("shoot").await;
    tab.wait_for("#prior input").await;
    tab.fill("#distance", "70").await;
    crate::unfold(&tab).await;
    let prior = tab.text("#prior").await;
    tab.check(prior.contains("sessions: 1, arrows: 48"), &prior).await;
    tab.js("document.querySelector('#prior').scrollIntoView({ block: 'center' })").await;
    tab.picture("phone-start-prior").await;
    usable(&tab, "start with a choice of spread").await;
    // Nothing was shot at 18 m.
    tab.fill("#distance", "18").await;
    tab.check(tab.text("#prior").await.contains("54 mm"), &tab.text("#prior").await).await;
    tab.fill("#distance", "70").await;
    tab.tap("#start").await;
    tab.wait_for("svg.face").await;
    let wide = "document.querySelector('svg.face ellipse.spread').rx.baseVal.value";
    tab.shoot(10.0, 10.0, 610.0).await;
    let learnt = tab.js(wide).await.as_f64().unwrap_or(0.0);
    tab.tap(".leave").await;
    crate::unfold(&tab).await;
    tab.tap_nth("input[name=prior]", 1).await;
    tab.settle().await;
    tab.tap(".sessions .session").await;
    tab.wait_for("svg.face ellipse.spread").await;
    let told = tab.js(wide).await.as_f64().unwrap_or(0.0);
    tab.check(
        learnt > 0.0 && told > 1.2 * learnt,
        &format!("{learnt} with what was shot, {told} with the kit's number"),
    )
    .await;
}

async fn a_shot_is_marked_after_coming_back_to_the_line(stage: Stage) {
    let server = Server::start();
    let tab = stage.tab("back", &server.url(), PHONE).await;
    crate::start_session(&tab, true).await;
    for x in [10.0, 20.0, 30.0] {
        tab.shoot(x, 0.0, 610.0).await;
    }
    tab.go("settings").await;
    tab.wait_for("#export").await;
    tab.go("shoot").await;
    tab.tap("[data-shot='2']").await;
    tab.tap("#good").await;
    tab.settle().await;
    let state = tab.js("document.querySelectorAll('.chosen').length + ' ' + document.querySelectorAll('.line').length + ' ' + document.querySelector('#good').getAttribute('aria-pressed')").await;
    let shots = records(&tab, "shot").await;
    tab.check(shots[1]["felt"] == "good", &format!("{state} {shots:?}")).await;
}
