//! `cargo xtask bench`: our benchmarks and their peers in the same run, and the throughput of the built program.

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;

use crate::run::{cargo, root, run};

/// Groups that the program reads in one go.
const GROUPS: usize = 10_000;

/// Runs everything and prints the table. `--no-peers` leaves out what needs Python.
/// `truth`, `matches` or `habits` and words for it run that table alone, `first-screen` and `five-years` the waits on a slow phone, `kills` what is lost when a
/// server is killed.
pub(crate) fn bench(words: &[String]) -> Result<(), String> {
    if let Some((name @ ("truth" | "matches" | "habits"), rest)) =
        words.split_first().map(|(first, rest)| (first.as_str(), rest))
    {
        return simulated(name, rest);
    }
    if let Some((name @ ("first-screen" | "five-years"), rest)) =
        words.split_first().map(|(first, rest)| (first.as_str(), rest))
    {
        return crate::browser::measure(name, rest);
    }
    if words == ["kills"] {
        return kills();
    }
    let mut peers_wanted = true;
    for word in words {
        match word.as_str() {
            "--no-peers" => peers_wanted = false,
            other => {
                return Err(format!(
                    "`{other}` is no option of bench: there are --no-peers, truth, matches, habits, first-screen, five-years and kills"
                ));
            }
        }
    }
    let folder = root().join("build/bench");
    fs::create_dir_all(&folder).map_err(|e| format!("cannot make {}: {e}", folder.display()))?;
    let ours: Value = parse("our benchmarks", &speed(&["--json"])?)?;
    let groups = folder.join("groups.jsonl");
    fs::write(&groups, speed(&["--groups", &GROUPS.to_string()])?)
        .map_err(|e| format!("cannot write the groups: {e}"))?;
    let a_second = throughput(&groups)?;
    crate::tests::postgres()?;
    let sync = parse("the benchmark of sync", &sync()?)?;
    let peers = if peers_wanted { peers(&folder)? } else { Value::Null };
    table(&ours, &peers, a_second).and_then(|()| sync_table(&sync)).map_err(|e| format!("cannot print: {e}"))
}

/// What the answer is worth to archers whom the model does and does not describe, or who wins matches; built to be built again.
fn simulated(name: &str, words: &[String]) -> Result<(), String> {
    let mut command = cargo(&["bench", "--locked", "--package", "checks", "--bench", name, "--profile", "quick", "--"]);
    command.args(words.iter().filter(|w| *w != "--"));
    run(name, command)
}

/// How many of the records that were acknowledged are lost when a server is killed in a storm of writes.
fn kills() -> Result<(), String> {
    crate::tests::postgres()?;
    let mut command = cargo(&["bench", "--locked", "--package", "goldward-server", "--bench", "sync"]);
    command.args(["--profile", "quick", "--", "--json", "--kills"]);
    let told = parse("the storm", &output("kills", &mut command)?)?;
    kills_table(&told).map_err(|e| format!("cannot print: {e}"))
}

/// The benchmark binary of the server.
fn sync() -> Result<String, String> {
    let mut command = cargo(&["bench", "--locked", "--package", "goldward-server", "--bench", "sync", "--", "--json"]);
    output("sync", &mut command)
}

fn parse(what: &str, text: &str) -> Result<Value, String> {
    serde_json::from_str(text).map_err(|e| format!("{what} printed no JSON: {e}"))
}

fn output(what: &str, command: &mut Command) -> Result<String, String> {
    eprintln!("== {what}");
    let output = command.stderr(Stdio::inherit()).output().map_err(|e| format!("{what} could not be started: {e}"))?;
    if !output.status.success() {
        return Err(format!("{what} failed ({}): {command:?}", output.status));
    }
    String::from_utf8(output.stdout).map_err(|e| format!("{what}: {e}"))
}

/// The benchmark binary of the checks.
fn speed(words: &[&str]) -> Result<String, String> {
    let mut command = cargo(&["bench", "--locked", "--package", "checks", "--bench", "speed", "--"]);
    output("our benchmarks", command.args(words))
}

/// Groups a second of the whole program, process start and JSON included: the median of three runs.
#[allow(clippy::disallowed_methods, reason = "a benchmark is there to look at the clock")]
fn throughput(groups: &Path) -> Result<f64, String> {
    let mut build = cargo(&[
        "build",
        "--release",
        "--locked",
        "--package",
        "goldward",
        "--message-format",
        "json-render-diagnostics",
    ]);
    let program = output("build", &mut build)?
        .lines()
        .filter_map(|line| serde_json::from_str::<Value>(line).ok())
        .filter_map(|message| message["executable"].as_str().map(PathBuf::from))
        .next_back()
        .ok_or("the build named no program")?;
    let mut seconds = Vec::new();
    for _ in 0..3 {
        let input = File::open(groups).map_err(|e| format!("cannot read the groups: {e}"))?;
        let mut command = Command::new(&program);
        command.args(["read", "--batch"]).stdin(input).stdout(Stdio::null());
        let begun = std::time::Instant::now();
        run("goldward read --batch", command)?;
        seconds.push(begun.elapsed().as_secs_f64());
    }
    seconds.sort_by(f64::total_cmp);
    Ok(GROUPS as f64 / seconds[1])
}

/// Measures the peers in a Python environment of their own, made on first use.
fn peers(folder: &Path) -> Result<Value, String> {
    let scripts = root().join("crates/checks/scripts");
    let wanted = scripts.join("requirements.txt");
    let wanted = ["-r", &wanted.display().to_string()];
    let python = crate::python::environment(&folder.join("venv"), &wanted)
        .map_err(|e| format!("{e}\n(the peers need Python; --no-peers leaves them out)"))?;
    let mut command = Command::new(&python);
    command.arg(scripts.join("bench_peers.py")).env("OMP_NUM_THREADS", "1").env("PYTHONDONTWRITEBYTECODE", "1");
    parse("the peers", &output("peers", &mut command)?)
}

fn seconds(of: &Value) -> Option<f64> {
    of["median_s"].as_f64()
}

/// A time in the unit that suits it.
fn time(s: f64) -> String {
    match s {
        s if s < 1e-6 => format!("{:.1} ns", s * 1e9),
        s if s < 1e-3 => format!("{:.1} us", s * 1e6),
        s if s < 1.0 => format!("{:.2} ms", s * 1e3),
        s => format!("{s:.2} s"),
    }
}

fn ratio(r: f64) -> String {
    if r < 10.0 { format!("{r:.2}") } else { format!("{r:.0}") }
}

/// Ours, the aim, the peer, and how many times longer the peer takes.
fn table(ours: &Value, peers: &Value, a_second: f64) -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    writeln!(out, "\n{:<34} {:>10} {:>10} {:>10} {:>9}  peer", "median, one core", "ours", "aim", "peer", "ratio")?;
    for (key, aim, peer) in [
        ("read_advise_6", Some(200e-6), Some("emcee_6")),
        ("read_6", None, Some("emcee_6")),
        ("read_12", None, None),
        ("read_72", Some(5e-3), None),
        ("score_contour", None, Some("score_ncx2")),
        ("score_table", None, Some("score_ncx2")),
        ("fleet_12x417", None, Some("mixedlm_5000")),
        ("fleet_12x5000", Some(0.2), Some("mixedlm_60000")),
    ] {
        let Some(own) = seconds(&ours[key]) else { continue };
        let peer = peer.map(|p| &peers[p]);
        let theirs = peer.and_then(seconds);
        writeln!(
            out,
            "{:<34} {:>10} {:>10} {:>10} {:>9}  {}",
            ours[key]["title"].as_str().unwrap_or(key),
            time(own),
            aim.map_or_else(String::new, time),
            theirs.map_or_else(String::new, time),
            theirs.map_or_else(String::new, |t| ratio(t / own)),
            peer.and_then(|p| p["title"].as_str()).unwrap_or_default(),
        )?;
    }
    writeln!(
        out,
        "\ngoldward read --batch, six-shot groups, whole process: {a_second:.0} a second (aim 10000 on two cores)"
    )?;
    writeln!(out, "aims beside it: emcee 1000 times slower, SciPy 10 times slower a value")
}

/// Each store with the aims.
fn sync_table(measured: &Value) -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    writeln!(out, "\n{:<46} {:>10} {:>10} {:>10}", "sync, over a connection", "sqlite", "postgres", "aim")?;
    for (key, title, aim) in [
        ("push_100k_s", "send a log of 100 000 shots", None),
        ("pull_100k_s", "fetch it", Some(3.0)),
        ("open_and_read_session_s", "open the store and read a session of it", Some(0.15)),
        ("devices_200_median_s", "200 devices at once, 36 shots, median", None),
        ("devices_200_p99_s", "the same, 99 of 100 take at most", Some(0.25)),
    ] {
        let of = |store: &str| measured[store][key].as_f64().map_or_else(String::new, time);
        let aim = aim.map_or_else(String::new, time);
        writeln!(out, "{title:<46} {:>10} {:>10} {aim:>10}", of("sqlite"), of("postgres"))?;
    }
    kills_table(measured)
}

fn kills_table(measured: &Value) -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    writeln!(out, "\n{:<46} {:>10} {:>10} {:>10}", "nothing acknowledged is lost", "sqlite", "postgres", "aim")?;
    for (key, title, aim) in [
        ("kills", "kill -9 of the server in a storm of writes", ""),
        ("acknowledged", "records acknowledged before one", ""),
        ("lost", "of them lost", "0"),
    ] {
        let of = |store: &str| measured[store][key].as_u64().map_or_else(String::new, |n| n.to_string());
        writeln!(out, "{title:<46} {:>10} {:>10} {aim:>10}", of("sqlite"), of("postgres"))?;
    }
    Ok(())
}
