//! The bench test on the page: its numbers are those of the command, its chart loses no spike, and what is wrong is said.

use std::fmt::Write;
use std::path::Path;
use std::process::Command;

use serde_json::{Value, json};

use crate::browser::Browser;
use crate::served::{Served, serve_folder, write_demo};

const SHOWN: &str = "document.getElementById('log-chart')?.dataset.rows";

fn opened(served: &Served) -> Browser {
    let mut browser = Browser::start();
    browser.size(1360, 900, 1.0);
    browser.open(&served.address);
    browser
}

fn bench_json(folder: &Path) -> Value {
    let output = Command::new(env!("CARGO_BIN_EXE_lampwright"))
        .args(["bench", "--json"])
        .arg(folder)
        .output()
        .unwrap();
    serde_json::from_slice(&output.stdout).unwrap()
}

fn cells(browser: &mut Browser, table: &str) -> Vec<Vec<String>> {
    let told = browser.value(&format!(
        "[...document.querySelectorAll('#{table} tbody tr')].map(r => [...r.cells].map(c => c.textContent.replace('\\u2212', '-')))"
    ));
    serde_json::from_value(told).unwrap()
}

fn text(browser: &mut Browser, id: &str) -> String {
    let told = browser.value(&format!("document.getElementById('{id}').textContent"));
    told.as_str().unwrap().replace('\u{a0}', " ")
}

/// A shown number is the JSON's to half its last digit.
fn is_shown(cell: &str, value: &Value) -> bool {
    let Some(value) = value.as_f64() else { return cell == "-" };
    let digits = cell.split_once('.').map_or(0, |(_, digits)| digits.len());
    cell.parse::<f64>().is_ok_and(|shown| (shown - value).abs() <= 0.501 * 10f64.powi(-(digits as i32)))
}

#[test]
fn the_bench_on_the_page_is_that_of_the_command() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    let found = bench_json(folder.path());
    let served = serve_folder(folder.path());
    let mut browser = opened(&served);
    browser.wait_for(SHOWN);
    assert_eq!(Value::from(text(&mut browser, "bench-answer")), found["answers"][0]);
    let plateaus = found["plateaus"].as_array().unwrap();
    let rows = cells(&mut browser, "plateau-table");
    assert_eq!(rows.len(), plateaus.len());
    for (row, plateau) in rows.iter().zip(plateaus) {
        assert_eq!(Value::from(row[0].as_str()), plateau["run"]);
        for (at, key) in [
            (3, "drive_current_a"),
            (6, "ambient_c"),
            (7, "settled_sensor_c"),
            (8, "rise_k"),
            (11, "heat_w"),
            (13, "resistance_k_per_w"),
        ] {
            assert!(is_shown(&row[at], &plateau[key]), "{key}: {} {}", row[at], plateau[key]);
        }
    }
    for (word, key) in [("current", "at_equal_current"), ("heat", "at_equal_heat")] {
        browser.value(&format!(
            "(() => {{ const s = document.getElementById('bench-equal'); s.value = '{word}'; s.dispatchEvent(new Event('change')); }})()"
        ));
        let rows = cells(&mut browser, "comparison-table");
        let all = found["comparisons"][0][key].as_array().unwrap();
        assert_eq!(rows.len(), all.len());
        for (row, one) in rows.iter().zip(all) {
            let difference = row.len() - 3;
            assert!(is_shown(&row[difference], &one["difference_k"]), "{row:?} {one}");
            // Rounded up, never down.
            let (shown, doubt) =
                (row[difference + 1].parse::<f64>().unwrap(), one["difference_doubt_k"].as_f64().unwrap());
            assert!(shown >= doubt - 1e-9 && shown < doubt + 0.0101, "{shown} {doubt}");
        }
        let bars = browser.value("document.querySelectorAll('#chart-difference path').length");
        assert!(bars.as_u64().unwrap() >= all.len() as u64, "{bars}");
    }
    // The fan that failed is marked and told, and the gap of the other run.
    browser.value("(() => { const s = document.getElementById('bench-run'); s.value = 'plain'; s.dispatchEvent(new Event('change')); })()");
    browser.wait_for("document.getElementById('log-marks').textContent.includes('fan loss')");
    browser.value("(() => { const s = document.getElementById('bench-run'); s.value = 'core'; s.dispatchEvent(new Event('change')); })()");
    browser.wait_for("document.getElementById('log-marks').textContent.includes('2.9\u{a0}min long')");
    // What is handed out is what the command writes and prints.
    // Read here: what passes through the browser as values loses the difference between 3 and 3.0.
    let handed = browser.value("(async () => await (await fetch('/bench.json')).text())()");
    assert_eq!(serde_json::from_str::<Value>(handed.as_str().unwrap()).unwrap(), found);
    let wrote = Command::new(env!("CARGO_BIN_EXE_lampwright"))
        .args(["bench", "--csv"])
        .arg(folder.path())
        .output()
        .unwrap();
    assert!(wrote.status.success());
    for name in ["plateaus.csv", "comparison.csv"] {
        let handed = browser.value(&format!("(async () => await (await fetch(document.querySelector('.downloads a[href=\"{name}\"]').href)).text())()"));
        assert_eq!(
            handed.as_str().unwrap(),
            std::fs::read_to_string(folder.path().join("results").join(name)).unwrap()
        );
    }
    pictures(&mut browser);
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}

fn pictures(browser: &mut Browser) {
    browser.value("(() => { const s = document.getElementById('bench-run'); s.value = 'plain'; s.dispatchEvent(new Event('change')); const e = document.getElementById('bench-equal'); e.value = 'current'; e.dispatchEvent(new Event('change')); for (const id of ['hot', 'choices', 'laid-out']) document.getElementById(id).hidden = true; })()");
    for (width, height, scale, shade) in [
        (1280, 900, 1.0, "light"),
        (1280, 900, 1.0, "dark"),
        (390, 844, 2.0, "light"),
        (390, 844, 2.0, "dark"),
    ] {
        browser.size(width, height, scale);
        browser.value(&format!(
            "(() => {{ if (document.documentElement.dataset.shade !== '{shade}') document.getElementById('shade').click(); return new Promise(done => setTimeout(done, 600)); }})()"
        ));
        let overflow =
            browser.value("document.documentElement.scrollWidth - document.documentElement.clientWidth");
        assert_eq!(overflow.as_f64(), Some(0.0), "{width}: no sideways scrolling");
        browser.picture(&format!("bench-{width}-{shade}.png"), None);
    }
}

fn window(browser: &mut Browser) -> [f64; 3] {
    let told = browser.value("(() => { const d = document.getElementById('log-chart')?.dataset; return [d.from, d.to, d.rows].map(Number); })()");
    serde_json::from_value(told).unwrap()
}

#[test]
fn looking_closer_asks_for_less_and_shows_more() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    let served = serve_folder(folder.path());
    let mut browser = opened(&served);
    browser.wait_for(SHOWN);
    let whole = window(&mut browser);
    assert_eq!(whole[0], 0.0);
    browser.value("document.getElementById('log-chart').focus()");
    for _ in 0..4 {
        browser.key("+", 0);
    }
    browser
        .wait_for(&format!("Number(document.getElementById('log-chart')?.dataset.to) < {}", whole[1] * 0.6));
    browser.wait_for("document.getElementById('log-detail').textContent.includes('each drawn')");
    let close = window(&mut browser);
    assert!((close[1] - close[0] - whole[1] / 16.0).abs() < 1.0, "{close:?}");
    assert!(close[2] < whole[2] / 10.0);
    // The page asked for that window, and the answer holds each of its rows where the whole view had several in a column.
    let asked = browser.requests.iter().rfind(|url| url.contains("/api/bench/trace")).unwrap().clone();
    assert!(asked.contains(&format!("from_s={}", close[0])), "{asked}");
    let of = |from: f64, to: f64| {
        let answer = served.json(&format!("/api/bench/trace?run=plain&from_s={from}&to_s={to}&columns=1000"));
        let at = answer["traces"][0]["at"].as_array().unwrap().len();
        at as f64 / (to - from)
    };
    assert!(of(close[0], close[1]) > 5.0 * of(whole[0], whole[1]));
    // Moved along, a step back, and all of it again.
    browser.key("ArrowRight", 8);
    browser.wait_for(&format!(
        "Number(document.getElementById('log-chart')?.dataset.from) > {}",
        close[0] + 1.0
    ));
    browser.value("document.getElementById('log-back').click()");
    browser.wait_for(&format!("Math.abs(Number(document.getElementById('log-chart')?.dataset.from) - {}) < 1e-6 || Number(document.getElementById('log-chart')?.dataset.from) === 0", close[0]));
    browser.value("document.getElementById('log-chart').focus()");
    browser.key("Home", 0);
    browser.wait_for(&format!("Number(document.getElementById('log-chart')?.dataset.to) === {}", whole[1]));
    // The wheel, with its place kept.
    let place = browser.value("(() => { const c = document.getElementById('log-chart'); c.scrollIntoView({ block: 'center', behavior: 'instant' }); const r = c.getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; })()");
    browser.call(
        "Input.dispatchMouseEvent",
        json!({ "type": "mouseWheel", "x": place[0], "y": place[1], "deltaX": 0, "deltaY": -600 }),
    );
    browser
        .wait_for(&format!("Number(document.getElementById('log-chart')?.dataset.to) < {}", whole[1] * 0.9));
    // Dragging over a stretch shows it alone.
    let before = window(&mut browser);
    let [x, y] = [place[0].as_f64().unwrap(), place[1].as_f64().unwrap()];
    for (kind, x) in [("mousePressed", x), ("mouseMoved", x + 60.0), ("mouseReleased", x + 60.0)] {
        browser.call(
            "Input.dispatchMouseEvent",
            json!({ "type": kind, "x": x, "y": y, "button": "left", "buttons": 1, "clickCount": 1 }),
        );
    }
    browser.wait_for(&format!("Number(document.getElementById('log-chart')?.dataset.to) - Number(document.getElementById('log-chart')?.dataset.from) < {}", 0.2 * (before[1] - before[0])));
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}

/// Source: the log as made here: 25 degC with a ripple of 0.2 K, and one row of 60 degC.
#[test]
fn a_spike_of_one_row_in_a_million_is_seen() {
    const ROWS: usize = 1_000_000;
    const SPIKE: usize = 617_283;
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    for name in ["plain.toml", "plain.csv", "core.toml", "core.csv"] {
        std::fs::remove_file(folder.path().join("bench").join(name)).unwrap();
    }
    let mut log = String::from("time (s),board (degC),room (degC),drive (A)\n");
    for row in 0..ROWS {
        let board = if row == SPIKE { 60.0 } else { 25.0 + 0.1 * ((row * 37) % 5) as f64 / 2.0 };
        writeln!(log, "{:.1},{board:.2},22.0,0.35", row as f64 * 0.1).unwrap();
    }
    std::fs::write(folder.path().join("bench/long.csv"), log).unwrap();
    std::fs::write(
        folder.path().join("bench/long.toml"),
        "[run]\nlogs = [\"long.csv\"]\nvariant = \"plain\"\n[time]\ncolumn = \"time\"\n[[channel]]\ncolumn = \"board\"\nis = \"sensor\"\nsensor = \"board sensor\"\n\
         [[channel]]\ncolumn = \"room\"\nis = \"ambient\"\n[[channel]]\ncolumn = \"drive\"\nis = \"drive current\"\n",
    )
    .unwrap();
    let served = serve_folder(folder.path());
    let mut browser = opened(&served);
    browser.wait_for(SHOWN);
    let [from, to, rows] = window(&mut browser);
    assert_eq!((from, rows as usize), (0.0, ROWS), "the whole log is in view");
    // Few numbers travel, and the spike is among them, at its column.
    let answer = served.json(&format!("/api/bench/trace?run=long&from_s=0&to_s={to}&columns=1000"));
    let trace = &answer["traces"][0];
    let largest: Vec<f64> = serde_json::from_value(trace["largest"].clone()).unwrap();
    assert!(largest.len() <= 1000);
    let high: Vec<usize> = (0..largest.len()).filter(|i| largest[*i] > 50.0).collect();
    assert_eq!(high.len(), 1);
    let column = (SPIKE as f64 * 0.1 / to * 1000.0) as usize;
    assert_eq!(trace["at"][high[0]].as_u64(), Some(column as u64));
    // On the picture: ink of the sensor far above the rest, at the spike's place only.
    browser.value("new Promise(done => setTimeout(done, 400))");
    let tall = browser.value(
        "(() => { const c = document.getElementById('log-chart'); const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
          const p = document.createElement('i'); p.style.color = 'var(--accent)'; document.body.append(p); const ink = getComputedStyle(p).color.match(/[0-9.]+/g).map(Number); p.remove();
          const found = []; for (let x = 58; x < c.width - 14; x++) { let n = 0; for (let y = 60; y < 200; y++) { const i = 4 * (y * c.width + x); if ([0, 1, 2].every(k => Math.abs(d[i + k] - ink[k]) < 60)) n++; } if (n > 60) found.push((x - 58) / (c.width - 72)); } return found; })()",
    );
    let tall: Vec<f64> = serde_json::from_value(tall).unwrap();
    let place = SPIKE as f64 * 0.1 / to;
    assert!(!tall.is_empty() && tall.iter().all(|x| (x - place).abs() < 0.005), "{place}: {tall:?}");
    browser.value("document.getElementById('bench').scrollIntoView({ behavior: 'instant' })");
    browser
        .value("for (const id of ['hot', 'choices', 'laid-out']) document.getElementById(id).hidden = true");
    browser.picture("bench-spike.png", Some(900));
}

#[test]
fn a_lamp_without_logs_is_told_how_to_add_them() {
    let served = serve_folder(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/one-layer-single"));
    let mut browser = opened(&served);
    browser.wait_for("document.getElementById('bench')?.dataset.shown === 'none'");
    let says = text(&mut browser, "bench-answer");
    assert!(says.contains("no logs") && says.contains("lampwright bench --sniff FILE"), "{says}");
    assert_eq!(says.matches('.').count(), 1, "one sentence: {says}");
    let shown = browser
        .value("['bench-here', 'bench-trouble'].map(id => document.getElementById(id).checkVisibility())");
    assert_eq!(shown, json!([false, false]));
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}

#[test]
fn a_bad_log_is_told_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    let sheet = folder.path().join("bench/core.toml");
    let text_of = std::fs::read_to_string(&sheet).unwrap().replace("is = \"ambient\"", "is = \"ambiant\"");
    let line = 1 + text_of.lines().position(|line| line.contains("ambiant")).unwrap();
    std::fs::write(&sheet, text_of).unwrap();
    let served = serve_folder(folder.path());
    let mut browser = opened(&served);
    browser.wait_for(SHOWN);
    let says = text(&mut browser, "bench-trouble");
    assert!(says.contains(&format!("bench/core.toml:{line}:")) && says.contains("ambiant"), "{says}");
    // The other run is shown all the same, and so is the lamp.
    assert_eq!(browser.value("document.querySelectorAll('#bench-run option').length"), 1);
    assert_eq!(cells(&mut browser, "plateau-table").len(), 4);
    browser.wait_for(crate::SETTLED);
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}
