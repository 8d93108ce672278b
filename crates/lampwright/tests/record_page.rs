//! The page of a run while it is recorded, in a headless browser: it shows what comes, as it comes.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]
#![allow(dead_code, reason = "each test file uses its part")]

mod browser;
mod support;

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Command, Stdio};

use browser::{Browser, plain_request};
use support::Scratch;

struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn row(second: u32, board_c: f64) -> String {
    format!("{second},{:.4},22.0,0.70\n", 0.5 + 0.010 * board_c)
}

#[test]
fn the_live_page_follows_the_run_and_shows_when_to_break_off() {
    let scratch = Scratch::with_demo();
    let mut child = Command::new(env!("CARGO_BIN_EXE_lampwright"))
        .args([
            "record",
            "lamp",
            "seen",
            "--variant",
            "plain",
            "--abort-above",
            "62 degC",
            "--page",
            "--no-open",
        ])
        .current_dir(scratch.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut lines = BufReader::new(child.stderr.take().unwrap()).lines().map_while(Result::ok);
    let mut input = child.stdin.take().unwrap();
    let _running = Running(child);
    let told = lines.find(|line| line.contains("http://")).expect("its address");
    let address = told.split_whitespace().find(|word| word.starts_with("http://")).unwrap().to_owned();
    std::thread::spawn(move || lines.for_each(drop));
    // Only this machine is answered, as on the other page.
    let host = address.trim_start_matches("http://").trim_end_matches('/');
    assert!(plain_request(host, "GET", "/", "elsewhere.example").starts_with("HTTP/1.1 403"));

    let rows: String = (0..300).map(|s| row(s, 60.0 - 35.0 * (-f64::from(s) / 60.0).exp())).collect();
    write!(input, "t (s),U1 (V),ambient (degC),I drive (A)\n{rows}").unwrap();
    let mut browser = Browser::start();
    browser.size(1200, 900, 1.0);
    browser.open(&address);
    browser.wait_for("document.getElementById('answer')?.textContent.includes('settles to') || document.getElementById('answer')?.textContent.includes('settled')");
    let answer = browser.value("document.getElementById('answer').textContent");
    assert!(answer.as_str().unwrap().starts_with("Plateau 1 at 0.7 A: 59.8 °C"), "{answer}");
    browser.wait_for("document.getElementById('log-chart').dataset.rows");
    assert_eq!(browser.value("document.getElementById('alarm').hidden"), true);

    // More comes, too hot: the band is there without loading anew.
    input.write_all((300..310).map(|s| row(s, 64.0)).collect::<String>().as_bytes()).unwrap();
    browser.wait_for("!document.getElementById('alarm').hidden");
    let alarm = browser.value("document.getElementById('alarm').textContent");
    assert!(alarm.as_str().unwrap().contains("64.0 °C, above 62 °C"), "{alarm}");
    let figures = browser.value("document.getElementById('figures').textContent");
    assert!(figures.as_str().unwrap().contains("310"), "{figures}");
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
    assert!(browser.requests.iter().all(|asked| asked.starts_with(&address)), "{:?}", browser.requests);
    for (name, width, shade) in
        [("live-light.png", 1200, "light"), ("live-dark.png", 1200, "dark"), ("live-phone.png", 390, "light")]
    {
        browser.size(width, 900, 1.0);
        browser.value(&format!("document.documentElement.dataset.shade = '{shade}'"));
        browser.wait_for("document.documentElement.scrollWidth <= document.documentElement.clientWidth");
        browser.picture(name, None);
    }
}
