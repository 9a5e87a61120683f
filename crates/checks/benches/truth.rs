//! `cargo xtask bench truth`: what the answer is worth to archers whom the model does and does not describe.
//!
//!     cargo xtask bench truth -- [--world NAME]... [--n N]... [--sims N] [--trust T] [--table regret|honesty|rounds]...

use std::io::{self, Write};
use std::process::ExitCode;

use checks::truth::rivals::Rival;
use checks::truth::rounds::Way;
use checks::truth::{Calls, World, face, honesty, regret, rounds};
use goldward_core::score::Scorer;
use goldward_core::units::Shaft;

const HELP: &str = "\
bench truth [--world NAME]... [--n N]... [--sims N] [--trust T] [--table regret|honesty|rounds]... [--touch-cost P]

  --world NAME   only that world (repeat for several); --world list names them all
  --n N          only groups of that many shots (repeat for several); otherwise 3, 6 and 12
  --sims N       so many sessions a cell; otherwise 500
  --trust T      tell that the setting is worth so many arrows, as far true as in the world
  --table NAME   only that table (repeat for several)
  --touch-cost P points that a touch costs in whole rounds; otherwise 0.5
";

struct Wishes {
    worlds: Vec<World>,
    n: Vec<usize>,
    sims: usize,
    tables: Vec<String>,
    touch_cost: f64,
}

fn wishes() -> Result<Wishes, String> {
    let mut wishes = Wishes { worlds: Vec::new(), n: Vec::new(), sims: 500, tables: Vec::new(), touch_cost: 0.5 };
    let mut trust = None;
    let mut words = std::env::args().skip(1).filter(|w| w != "--bench");
    while let Some(word) = words.next() {
        if word == "--help" {
            return Err(HELP.to_owned());
        }
        let value = words.next().ok_or(format!("{word} needs a value\n\n{HELP}"))?;
        let number = || value.parse::<f64>().map_err(|_| format!("{word} {value}: not a number"));
        match word.as_str() {
            "--world" => wishes.worlds.push(World::find(&value).ok_or_else(|| {
                let all = World::all();
                let names: Vec<_> = all.iter().map(|w| format!("  {:<14} {}", w.name, w.title)).collect();
                format!("there is no world `{value}`: there are\n{}", names.join("\n"))
            })?),
            "--n" => wishes.n.push(number()? as usize),
            "--sims" => wishes.sims = number()? as usize,
            "--trust" => trust = Some(number()?),
            "--touch-cost" => wishes.touch_cost = number()?,
            "--table" => wishes.tables.push(value),
            _ => return Err(format!("there is no option {word}\n\n{HELP}")),
        }
    }
    if wishes.worlds.is_empty() {
        wishes.worlds = World::all();
    }
    if let Some(trust) = trust {
        wishes.worlds = wishes.worlds.into_iter().map(|w| w.with_trust(trust)).collect();
    }
    if wishes.n.is_empty() {
        wishes.n = vec![3, 6, 12];
    }
    if wishes.tables.is_empty() {
        wishes.tables = ["regret", "honesty", "rounds"].map(str::to_owned).into();
    }
    Ok(wishes)
}

fn regret_table(out: &mut impl Write, w: &Wishes, scorer: &Scorer) -> io::Result<()> {
    writeln!(out, "Points lost of 36 arrows against one who knows the centre, {} sessions a row", w.sims)?;
    writeln!(
        out,
        "{:<14} {:>3}  {:>14} {:>14} {:>14} {:>14} {:>14}   behind the best rule",
        "world", "n", "goldward", "mean", "less worst", "shrunk", "knows world"
    )?;
    for world in &w.worlds {
        for n in &w.n {
            let row = regret::row(world, *n, w.sims, scorer);
            let best = Rival::ALL.into_iter().min_by(|a, b| row.rival(*a).mean.total_cmp(&row.rival(*b).mean));
            let rivals: Vec<String> = Rival::ALL.iter().map(|r| format!("{:>14}", row.rival(*r).to_string())).collect();
            let known = row.known().map_or_else(|| "-".to_owned(), |m| m.to_string());
            let behind = best.map_or_else(String::new, |b| row.behind(b).to_string());
            let goldward = row.goldward().to_string();
            writeln!(out, "{:<14} {n:>3}  {goldward:>14} {} {known:>14}   {behind}", world.name, rivals.join(" "))?;
            out.flush()?;
        }
    }
    writeln!(out)
}

fn honesty_table(out: &mut impl Write, w: &Wishes, scorer: &Scorer) -> io::Result<()> {
    writeln!(
        out,
        "What is told and what came, {} sessions a row (share that 80 % intervals hold; p_better said -> came)",
        w.sims
    )?;
    writeln!(
        out,
        "{:<14} {:>3}  {:>5} {:>5}  {:>5} {:>5}  {:>7}  {:>5} {:>5} {:>5}  {:>10} {:>9}",
        "world", "n", "wind.", "elev.", "gain", "(36)", "gain-tr", "said", "came", "(36)", "more came", "changes>4"
    )?;
    for world in &w.worlds {
        for n in &w.n {
            let study = honesty::study(world, *n, w.sims, true, scorer);
            let [wi, el] = study.intervals();
            let [g, g36] = study.gain_intervals();
            let all = |this: bool| {
                let f = study.better(this);
                let count = f.len().max(1) as f64;
                (f.iter().map(|x| x.0).sum::<f64>() / count, f.iter().filter(|x| x.1).count() as f64 / count)
            };
            let ((said, came), (_, came36)) = (all(false), all(true));
            let (times, more) = study.more();
            writeln!(
                out,
                "{:<14} {n:>3}  {:>5.3} {:>5.3}  {:>5.3} {:>5.3}  {:>7.2}  {said:>5.3} {came:>5.3} {came36:>5.3}  {:>5.2}/{:<4} {:>9.2}",
                world.name,
                wi.mean,
                el.mean,
                g.mean,
                g36.mean,
                study.gain_error().mean,
                more.mean,
                times,
                study.changes(4).mean
            )?;
            for b in honesty::bins(&study.better(false), &[0.0, 0.5, 0.7, 0.8, 0.9, 0.97, 1.0]) {
                if b.count >= 20 && (b.said - b.came.mean).abs() > 2.5 * b.came.error {
                    writeln!(
                        out,
                        "{:>20} p_better {:.2} came {:.2} of {} ({:.1} errors)",
                        "",
                        b.said,
                        b.came.mean,
                        b.count,
                        (b.came.mean - b.said) / b.came.error.max(1e-3)
                    )?;
                }
            }
            for (k, class) in ["clean", "flyer", "stray"].into_iter().enumerate() {
                for b in honesty::bins(&study.class(k), &[0.0, 0.02, 0.1, 0.3, 0.7, 0.9, 0.97, 1.0]) {
                    if b.count >= 20 && (b.said - b.came.mean).abs() > 3.0 * b.came.error.max(0.003) {
                        writeln!(
                            out,
                            "{:>20} {class} {:.2} came {:.2} of {} ({:.1} errors)",
                            "",
                            b.said,
                            b.came.mean,
                            b.count,
                            (b.came.mean - b.said) / b.came.error.max(1e-3)
                        )?;
                    }
                }
            }
            out.flush()?;
        }
    }
    writeln!(out)
}

fn rounds_table(out: &mut impl Write, w: &Wishes, scorer: &Scorer) -> io::Result<()> {
    let ways = [
        (Way::Rehearsed, w.sims, "a touch after every arrow, as rehearsed".to_owned()),
        (Way::Followed(w.touch_cost), w.sims.div_ceil(20), format!("followed, a touch costs {}", w.touch_cost)),
    ];
    for (way, sims, title) in ways {
        writeln!(out, "Whole rounds of 72 arrows, {title}, {sims} rounds a row: points more than `1/(k + trust)`")?;
        writeln!(out, "{:<14} {:>14} {:>14} {:>14}", "world", "ahead", "lost", "touches")?;
        for world in w.worlds.iter().filter(|x| x.calls == Calls::Places) {
            let r = rounds::play(world, sims, way, scorer);
            let [ahead, lost, touches] = [r.ahead(), r.lost(), r.touches()].map(|m| m.to_string());
            writeln!(out, "{:<14} {ahead:>14} {lost:>14} {touches:>14}", world.name)?;
            out.flush()?;
        }
    }
    Ok(())
}

fn main() -> ExitCode {
    let w = match wishes() {
        Ok(w) => w,
        Err(message) => {
            eprintln!("{message}");
            return ExitCode::from(2);
        }
    };
    let scorer = Scorer::new(face(), Shaft::default());
    let mut out = io::stdout();
    let tables = [
        ("regret", regret_table as fn(&mut io::Stdout, &Wishes, &Scorer) -> io::Result<()>),
        ("honesty", honesty_table),
        ("rounds", rounds_table),
    ];
    for (name, table) in tables {
        if w.tables.iter().any(|t| t == name)
            && let Err(e) = table(&mut out, &w, &scorer)
        {
            eprintln!("cannot print: {e}");
            return ExitCode::FAILURE;
        }
    }
    ExitCode::SUCCESS
}
