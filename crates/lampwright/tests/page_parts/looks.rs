//! How the page looks for the demo and each example lamp, in light and dark, from a phone to a wide desk.

use std::path::{Path, PathBuf};

use crate::SETTLED;
use crate::browser::Browser;
use crate::served::{Served, serve_demo, serve_folder};

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
