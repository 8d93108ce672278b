//! How the page looks for the demo and each example lamp, in light and dark, from a phone to a wide desk.

use std::path::{Path, PathBuf};

use crate::browser::Browser;
use crate::served::{Served, serve_demo, serve_folder};
use crate::{SETTLED, type_into};

/// Width, height, scale of the windows looked at.
const WINDOWS: [(u32, u32, f64); 3] = [(390, 844, 2.0), (1280, 800, 1.0), (1920, 1080, 1.0)];

fn examples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.join("lamp.toml").exists())
        .collect();
    found.sort();
    found
}

fn look(browser: &mut Browser, served: &Served, name: &str) {
    browser.size(1280, 800, 1.0);
    browser.open(&served.address);
    browser.wait_for(SETTLED);
    for (width, height, scale) in WINDOWS {
        browser.size(width, height, scale);
        for shade in ["light", "dark"] {
            browser.value(&format!(
                "(() => {{ if (document.documentElement.dataset.shade !== '{shade}') document.getElementById('shade').click(); scrollTo({{ top: 0, behavior: 'instant' }}); return new Promise(done => setTimeout(done, 250)); }})()"
            ));
            let overflow =
                browser.value("document.documentElement.scrollWidth - document.documentElement.clientWidth");
            assert_eq!(overflow.as_f64(), Some(0.0), "{name} at {width}: no sideways scrolling");
            browser.picture(&format!("{name}-{width}-{shade}.png"), None);
        }
    }
}

#[test]
fn every_lamp_fits_every_window() {
    let mut browser = Browser::start();
    look(&mut browser, &serve_demo(), "demo");
    for folder in examples() {
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        look(&mut browser, &serve_folder(&folder), &name);
    }
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}

/// Over a limit, without a steady state, and with a value that cannot be read: each is said in the answer or beside the control.
#[test]
fn what_goes_wrong_is_said() {
    let served = serve_demo();
    let mut browser = Browser::start();
    browser.size(1280, 800, 1.0);
    browser.open(&served.address);
    browser.wait_for(SETTLED);
    let answer = "document.getElementById('answer').textContent";
    type_into(&mut browser, "current", "2.5 A");
    let run = &served.solved("variant=plain&current=2.5+A")["run"];
    let over: Vec<&str> = run["limits"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|limit| limit["margin"].as_f64().unwrap() < 0.0)
        .map(|limit| limit["what"].as_str().unwrap())
        .collect();
    assert!(!over.is_empty());
    let says = browser.value(answer);
    let says = says.as_str().unwrap();
    // The worst of each kind is named; the junction's own limit stands in the sentence before.
    for kind in ["board", "solder point", "current"]
        .iter()
        .filter(|kind| over.iter().any(|what| what.starts_with(**kind)))
    {
        let worst = over.iter().find(|what| what.starts_with(kind)).unwrap();
        assert!(says.contains("Over its limit") && says.contains(worst), "{worst}: {says}");
    }
    browser.value("scrollTo({ top: 0, behavior: 'instant' })");
    browser.picture("over.png", None);

    type_into(&mut browser, "heatsink", "60 K/W");
    let run = &served.solved("variant=plain&current=2.5+A&heatsink=60+K/W")["run"];
    assert_eq!(run["state"], "runaway");
    let says = browser.value(answer);
    assert!(says.as_str().unwrap().contains("there is no steady state"), "{says}");
    let caption = browser.value("document.getElementById('range').textContent");
    assert!(caption.as_str().unwrap().contains("Without a steady state"), "{caption}");
    browser.picture("runaway.png", None);

    browser.value("(() => { const c = document.getElementById('bond'); c.value = '80 K/W'; c.dispatchEvent(new Event('change', { bubbles: true })); })()");
    browser.wait_for("document.getElementById('field-trouble').textContent.includes('um')");
    browser.picture("wrong.png", Some(900));
}
