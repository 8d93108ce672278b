//! A lamp with errors, served: terminal and page say what is wrong, where, and what to do; mended, it is shown.

use crate::SETTLED;
use crate::browser::Browser;
use crate::served::serve_folder;

#[test]
fn a_broken_lamp_says_what_to_mend_and_is_shown_once_mended() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("lamp.toml");
    let good = include_str!("../../../../examples/one-layer-single/lamp.toml");
    let broken = good.replace("[bond]", "[bnd]").replace("\"0.35 A\"", "\"0.35 volts\"");
    std::fs::write(&file, broken).unwrap();
    let served = serve_folder(folder.path());
    let said = served.said.lock().unwrap().clone();
    for part in ["lamp.toml:8:22: error", "\"0.35 volts\"", "did you mean \"bond\"", "load the page again"] {
        assert!(said.contains(part), "{part}: {said}");
    }

    let mut browser = Browser::start();
    browser.size(1280, 800, 1.0);
    browser.open(&served.address);
    browser.wait_for("document.getElementById('trouble') && !document.getElementById('trouble').hidden");
    let says = browser.value("document.querySelector('main').innerText");
    let says = says.as_str().unwrap();
    for part in [
        "the lamp has 2 errors",
        "lamp.toml:8:22",
        "\"0.35 volts\"",
        "did you mean \"bond\"",
        "load this page again",
    ] {
        assert!(says.contains(part), "{part}: {says}");
    }
    assert!(!says.contains("Drive current"), "no control without a lamp: {says}");
    browser.picture("broken.png", None);

    // Mended and loaded again, without a new start of the program.
    std::fs::write(&file, good).unwrap();
    browser.open(&served.address);
    browser.wait_for(SETTLED);
    assert_eq!(browser.value("document.getElementById('trouble').hidden"), true);
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}
