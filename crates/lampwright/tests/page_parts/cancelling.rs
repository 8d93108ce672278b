//! Slow questions: what is being done is told, Cancel and a dropped connection stop it, and the answer before comes back.

use std::fmt::Write as _;
use std::io::Write as _;
use std::net::TcpStream;
use std::time::{Duration, Instant};

use crate::browser::Browser;
use crate::served::{Served, serve_files};
use crate::{SETTLED, junction_c};

/// How long the program may take to notice: it looks between two iterations, but does not while it lays a grid.
const NOTICED: Duration = Duration::from_secs(30);

/// A lamp of two variants with forty-nine emitters each: finding how each warms the others is as many solves.
fn slow_lamp() -> String {
    let (mut refs, mut places) = (Vec::new(), Vec::new());
    for row in 0..7 {
        for column in 0..7 {
            refs.push(format!("\"D{}\"", 7 * row + column + 1));
            // Unequal distances, so that few grid lines fall together.
            let place = |k: usize| 9.0 + 11.83 * k as f64 + 0.037 * (k * k) as f64;
            places.push(format!("[\"{:.3} mm\", \"{:.3} mm\"]", place(column), place(row)));
        }
    }
    let mut text = format!(
        r#"[lamp]
name = "Forty-nine emitters"
ambient = "25 degC"
[drive]
currents = ["0.35 A"]
[[emitters]]
sheet = "white-3.5mm"
refs = [{}]
at = [{}]
[bond]
thickness = "100 um"
conductivity = "1.5 W/m/K"
[heatsink]
base = ["130 mm", "130 mm"]
base_thickness = "5 mm"
resistance = "0.5 K/W"
"#,
        refs.join(", "),
        places.join(", ")
    );
    for (name, conductivity) in [("first", "2 W/m/K"), ("second", "3 W/m/K")] {
        write!(
            text,
            r#"[variant.{name}]
title = "aluminium core 1.5 mm"
outline = ["130 mm", "130 mm"]
copper = "full"
[variant.{name}.board]
kind = "aluminium core"
core_thickness = "1.5 mm"
dielectric_conductivity = "{conductivity}"
dielectric_thickness = "100 um"
copper_top = "70 um"
"#
        )
        .unwrap();
    }
    text
}

fn in_hand(served: &Served) -> Vec<serde_json::Value> {
    served.json("/api/work")["at_work"].as_array().unwrap().clone()
}

/// Waits until what is in hand is as wanted.
pub fn wait_until(served: &Served, what: &str, wanted: impl Fn(&[serde_json::Value]) -> bool) {
    let began = Instant::now();
    loop {
        let now = in_hand(served);
        if wanted(&now) {
            return;
        }
        assert!(began.elapsed() < NOTICED, "still not {what}: {now:?}");
        std::thread::sleep(Duration::from_millis(30));
    }
}

fn is_solving(work: &[serde_json::Value]) -> bool {
    work.iter().any(|one| one["doing"].as_str().unwrap().starts_with("solving"))
}

/// Until the answer, the strip says what is done; afterwards it is gone.
const STRIP: &str = "(document.getElementById('strip')?.hidden === false)";

#[test]
fn a_slow_question_is_told_cancelled_and_asked_again() {
    let text = slow_lamp();
    let served = serve_files([("lamp.toml", text.as_bytes())]);
    let mut browser = Browser::start();
    browser.size(1280, 800, 1.0);
    browser.open(&served.address);

    // A cold start, cancelled with Escape: nothing to go back to, and nothing is lost.
    browser
        .wait_for(&format!("{STRIP} && document.getElementById('strip-says').textContent.includes('first')"));
    wait_until(&served, "solving", is_solving);
    browser.wait_for("document.getElementById('strip-says').textContent.includes('solving')");
    browser.key("Escape", 0);
    browser.wait_for("document.getElementById('working').textContent.startsWith('Cancelled after')");
    wait_until(&served, "idle", <[_]>::is_empty);
    assert_eq!(browser.value("document.getElementById('current').value"), "0.35 A");
    assert_eq!(browser.value("document.getElementById('answer').textContent"), "Nothing is solved yet.");

    // Asked again, it is answered; the charts of the other variant are cancelled with the button, the answer stands.
    browser.value("document.querySelector('#controls button.main').click()");
    browser.wait_for("document.getElementById('strip-says').textContent.includes('Charting run 2 of 2')");
    let answer = browser.value("document.getElementById('answer').textContent");
    let junction = junction_c(&mut browser);
    browser.picture("working.png", Some(800));
    browser.value("document.getElementById('cancel').click()");
    browser.wait_for("document.getElementById('working').textContent.includes('hold 1 of 2')");
    assert_eq!(browser.value(STRIP), false);
    wait_until(&served, "idle", <[_]>::is_empty);

    // The other variant at another current is cancelled: controls, words and picture are those of the answer.
    let picture = "document.getElementById('field').toDataURL()";
    let field = browser.value(picture);
    browser.value(
        "(() => { document.getElementById('current').value = '0.2 A'; const v = document.getElementById('variant'); v.value = 'second'; v.dispatchEvent(new Event('change', { bubbles: true })); })()",
    );
    wait_until(&served, "at work", |work| work.iter().any(|one| one["variant"] == "second"));
    browser.wait_for(STRIP);
    browser.key("Escape", 0);
    browser.wait_for("document.getElementById('working').textContent.includes('the last answer again')");
    assert_eq!(browser.value("document.getElementById('variant').value"), "first");
    assert_eq!(browser.value("document.getElementById('current').value"), "0.35 A");
    assert_eq!(browser.value("document.getElementById('answer').textContent"), answer);
    assert_eq!(browser.value(picture), field);
    assert_eq!(
        browser.value("document.getElementById('undo').disabled"),
        true,
        "nothing was answered to undo"
    );
    wait_until(&served, "idle", <[_]>::is_empty);

    // And asked again it is answered as before.
    browser.value("document.querySelector('#controls button.main').click()");
    browser.wait_for(SETTLED);
    assert!((junction_c(&mut browser) - junction).abs() < 0.051);
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}

#[test]
fn a_dropped_connection_stops_the_work() {
    let text = slow_lamp();
    let served = serve_files([("lamp.toml", text.as_bytes())]);
    let mut line = TcpStream::connect(&served.host).unwrap();
    write!(line, "GET /api/solve?variant=first&asked_as=x HTTP/1.1\r\nHost: {}\r\n\r\n", served.host)
        .unwrap();
    wait_until(&served, "solving", is_solving);
    drop(line);
    let dropped = Instant::now();
    wait_until(&served, "idle", <[_]>::is_empty);
    // Uncancelled it would go on several times as long; and the grid that was laid is kept for the next question.
    let stopped_in = dropped.elapsed();
    let began = Instant::now();
    let run = &served.solved("variant=first")["run"];
    let whole = began.elapsed();
    assert!(run["hottest_junction_c"].as_f64().unwrap() > 25.0);
    assert!(stopped_in < whole / 2, "stopped in {stopped_in:?}, a whole answer takes {whole:?}");
}

/// Ctrl+C ends the program also while it solves: well before the answer would be there.
#[cfg(unix)]
#[test]
fn an_interrupted_program_waits_for_no_answer() {
    let text = slow_lamp();
    let mut served = serve_files([("lamp.toml", text.as_bytes())]);
    let mut line = TcpStream::connect(&served.host).unwrap();
    write!(line, "GET /api/solve?variant=first HTTP/1.1\r\nHost: {}\r\n\r\n", served.host).unwrap();
    let asked = Instant::now();
    wait_until(&served, "solving", is_solving);
    let laid = asked.elapsed();
    let told = Instant::now();
    assert!(served.interrupt());
    // So many solves take many times as long as laying the grid.
    assert!(told.elapsed() < laid.max(Duration::from_secs(2)), "{:?} after {laid:?}", told.elapsed());
}
