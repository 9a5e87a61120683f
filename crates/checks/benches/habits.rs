//! `cargo xtask bench habits`: what an archer gains whose habits are learnt from ten evenings.
//!
//!     cargo xtask bench habits -- [--kind NAME]... [--archers N] [--trust T]

use std::io::{self, Write};
use std::process::ExitCode;

use checks::habits::{KINDS, Kind, Worth, archer, density, gain};
use checks::truth::{Mean, crowd, face};
use goldward_core::score::Scorer;
use goldward_core::units::Shaft;

const HELP: &str = "\
bench habits [--kind NAME]... [--archers N] [--trust T]

  --kind NAME    only that kind of archer (repeat for several)
  --archers N    so many archers a kind; otherwise 200
  --trust T      the setting is worth so many arrows; otherwise 1
";

fn wishes() -> Result<(Vec<Kind>, usize, f64), String> {
    let (mut kinds, mut archers, mut trust) = (Vec::new(), 200, 1.0);
    let mut words = std::env::args().skip(1).filter(|w| w != "--bench");
    while let Some(word) = words.next() {
        let value = words.next().ok_or_else(|| format!("{word} needs a value\n\n{HELP}"))?;
        let number = || value.parse::<f64>().map_err(|_| format!("{word} {value}: not a number"));
        match word.as_str() {
            "--kind" => kinds.push(Kind::find(&value).ok_or_else(|| {
                let names: Vec<_> = KINDS.iter().map(|k| format!("  {:<10} {}", k.name, k.title)).collect();
                format!("there is no kind `{value}`: there are\n{}", names.join("\n"))
            })?),
            "--archers" => archers = number()? as usize,
            "--trust" => trust = number()?,
            _ => return Err(format!("there is no option {word}\n\n{HELP}")),
        }
    }
    Ok((if kinds.is_empty() { KINDS.to_vec() } else { kinds }, archers, trust))
}

fn table(out: &mut impl Write, kinds: &[Kind], archers: usize, trust: f64) -> io::Result<()> {
    let scorer = Scorer::new(face(), Shaft::default());
    writeln!(
        out,
        "{archers} archers a row; log density an arrow of a later evening, learnt and told from the start less the usual"
    )?;
    writeln!(
        out,
        "values; points of 36 arrows gained over the usual values when the sight is set after 3, 6 and 12 arrows, the same two"
    )?;
    writeln!(
        out,
        "{:<11} {:>14} {:>14}  {:>14} {:>14}  {:>14} {:>14}  {:>14} {:>14}",
        "kind", "density", "told", "3", "told", "6", "told", "12", "told"
    )?;
    for kind in kinds {
        let worth = Worth::of(*kind);
        let rows = crowd(archers, |number| {
            let told = archer(*kind, number, trust);
            let mut row = density(*kind, &told, number, trust, 2);
            for n in [3, 6, 12] {
                row.extend(gain(*kind, &told, &worth, number, trust, n, &scorer));
            }
            row
        });
        write!(out, "{:<11}", kind.name)?;
        for k in 0..4 {
            let more = |which: usize| Mean::of(rows.iter().map(move |r| r[3 * k + which] - r[3 * k]));
            let [learnt, told] = [more(1), more(2)];
            if k == 0 {
                write!(
                    out,
                    " {:>6.3} +- {:<5.3} {:>6.3} +- {:<5.3}",
                    learnt.mean, learnt.error, told.mean, told.error
                )?;
            } else {
                write!(out, "  {:>14} {:>14}", learnt.to_string(), told.to_string())?;
            }
        }
        writeln!(out)?;
        out.flush()?;
    }
    Ok(())
}

fn main() -> ExitCode {
    let (kinds, archers, trust) = match wishes() {
        Ok(w) => w,
        Err(message) => {
            eprintln!("{message}");
            return ExitCode::from(2);
        }
    };
    match table(&mut io::stdout(), &kinds, archers, trust) {
        Ok(()) => ExitCode::SUCCESS,
        Err(e) => {
            eprintln!("cannot print: {e}");
            ExitCode::FAILURE
        }
    }
}
