//! Whoever sees little, uses no pointer or has the page read aloud reaches everything: contrast, focus, names.
//! WCAG 2.2: success criteria 1.4.3 (text), 1.4.11 (graphics), 2.1.1 (keyboard), 2.4.7 (focus), 4.1.2 (names).

use serde_json::Value;

use crate::SETTLED;
use crate::browser::Browser;
use crate::served::{Served, serve_demo};

/// Relative luminance and contrast ratio as WCAG 2.2 defines them, and what the page's elements stand on.
const CONTRAST: &str = r#"
const rgb = (text) => text.match(/[\d.]+/g).map(Number);
const luminance = ([r, g, b]) => { const l = [r, g, b].map((v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4)); return 0.2126 * l[0] + 0.7152 * l[1] + 0.0722 * l[2]; };
const contrast = (a, b) => { const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
const behind = (element) => { for (let e = element; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c.length < 4 || c[3] === 1) return c; } return [255, 255, 255]; };
const ink = (name) => { const probe = document.createElement('i'); probe.style.color = `var(--${name})`; document.body.append(probe); const c = rgb(getComputedStyle(probe).color); probe.remove(); return c; };
"#;

fn settled_demo() -> (Served, Browser) {
    let served = serve_demo();
    let mut browser = Browser::start();
    browser.size(1280, 800, 1.0);
    browser.open(&served.address);
    browser.wait_for(SETTLED);
    (served, browser)
}

fn weak_texts(browser: &mut Browser) -> Value {
    browser.value(&format!(
        "(() => {{ {CONTRAST}
          const weak = [];
          const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
          let seen = 0;
          while (walker.nextNode()) {{
            const element = walker.currentNode.parentElement;
            if (!walker.currentNode.textContent.trim() || !element.checkVisibility() || element.closest('button:disabled, title')) continue;
            seen += 1;
            const drawn = element instanceof SVGElement;
            const style = getComputedStyle(element);
            const stair = element.closest('.stair.chosen') && element.classList.contains('inside');
            const ground = stair ? rgb(getComputedStyle(element.parentElement.querySelector('.face')).fill) : behind(element);
            const ratio = contrast(rgb(drawn ? style.fill : style.color), ground);
            if (ratio < 4.5) weak.push([walker.currentNode.textContent.trim(), ratio]);
          }}
          return seen > 100 ? weak : ['too few texts were seen', seen];
        }})()"
    ))
}

fn weak_graphics(browser: &mut Browser) -> Value {
    browser.value(&format!(
        "(() => {{ {CONTRAST}
          const pairs = [['copper', 'board'], ['copper', 'sheet'], ['mask-open', 'copper'], ['accent', 'paper'], ['second', 'paper'],
            ['ink', 'paper'], ['ink', 'sheet'], ['ink', 'board'], ['ink', 'copper'], ['faint', 'sheet'], ['faint', 'paper'], ['on-accent', 'accent']];
          return pairs.map(([a, b]) => [a, b, contrast(ink(a), ink(b))]).filter((one) => !(one[2] >= 3));
        }})()"
    ))
}

#[test]
fn texts_and_graphics_stand_out_in_light_and_dark() {
    let (_served, mut browser) = settled_demo();
    browser.value("document.querySelectorAll('details').forEach(d => { d.open = true; })");
    for shade in ["light", "dark"] {
        browser.value(&format!(
            "document.documentElement.dataset.shade === '{shade}' || document.getElementById('shade').click()"
        ));
        assert_eq!(weak_texts(&mut browser), serde_json::json!([]), "{shade}");
        assert_eq!(weak_graphics(&mut browser), serde_json::json!([]), "{shade}");
    }
}

#[test]
fn the_keyboard_reaches_everything_in_order() {
    let (_served, mut browser) = settled_demo();
    // What can be used, in the order in which it stands.
    let wanted = browser.value(
        "(() => { const all = [...document.querySelectorAll('a, button, input, select, canvas[tabindex], .stair, summary, .scroller')]
            .filter(e => e.checkVisibility() && !e.disabled && (!e.closest('details:not([open])') || e.tagName === 'SUMMARY'));
          all.forEach((e, i) => { e.dataset.stop = String(i); });
          return all.map(e => e.dataset.stop); })()",
    );
    let wanted: Vec<String> =
        wanted.as_array().unwrap().iter().map(|stop| stop.as_str().unwrap().to_owned()).collect();
    assert!(wanted.len() > 20, "{wanted:?}");
    for stop in &wanted {
        browser.tab();
        let at = browser.value(
            "(() => { const e = document.activeElement; const s = getComputedStyle(e); const face = e.querySelector?.('.face');
              const ring = s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2;
              const frame = face && parseFloat(getComputedStyle(face).strokeWidth) >= 3;
              const name = e.getAttribute('aria-label') || e.labels?.[0]?.textContent || e.textContent;
              return [e.dataset.stop, Boolean(ring || frame), Boolean(name?.trim()), e.outerHTML.slice(0, 120)]; })()",
        );
        assert_eq!(at[0].as_str(), Some(stop.as_str()), "the focus went to {at}");
        assert_eq!(at[1], true, "no focus ring: {at}");
        assert_eq!(at[2], true, "no name: {at}");
    }
}
