//! The current in the copper on the page: coloured where it flows, read out as the findings have it, necks marked and listed.

use std::path::Path;

use serde_json::{Value, json};

use crate::SETTLED;
use crate::browser::Browser;
use crate::served::{Served, serve_demo, serve_folder};

const DENSITY_SHOWN: &str = "!document.getElementById('copper-key').hidden";

fn example(name: &str) -> Served {
    serve_folder(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name))
}

fn opened(served: &Served) -> Browser {
    let mut browser = Browser::start();
    browser.size(1360, 900, 1.0);
    browser.open(&served.address);
    browser.wait_for(SETTLED);
    browser
}

fn choose(browser: &mut Browser, select: &str, value: &str) {
    browser.value(&format!(
        "(() => {{ const s = document.getElementById('{select}'); s.value = '{value}'; s.dispatchEvent(new Event('change', {{ bubbles: true }})); }})()"
    ));
}

/// Shows a view of the copper and gives the words on the scale's end.
fn show(browser: &mut Browser, view: &str, unit: &str) -> String {
    choose(browser, "view", view);
    browser.wait_for(DENSITY_SHOWN);
    browser.wait_for(&format!("document.querySelector('#scale').textContent.includes('{unit}')"));
    let words = browser.value(&format!(
        "[...document.querySelectorAll('#scale text')].map(t => t.textContent).find(t => t.includes('{unit}'))"
    ));
    words.as_str().unwrap().to_owned()
}

fn text_of(browser: &mut Browser, id: &str) -> String {
    let text = browser.value(&format!("document.getElementById('{id}').textContent"));
    text.as_str().unwrap().replace('\u{a0}', " ")
}

/// Three significant digits as the page writes them, small values without the zeros at their end.
fn three(value: f64) -> String {
    let decimals = (2.0 - value.abs().log10().floor()).clamp(0.0, 9.0) as usize;
    let text = format!("{value:.decimals$}");
    if value.abs() >= 0.1 {
        return format!("{value:.*}", decimals.min(3));
    }
    text.trim_end_matches('0').to_owned()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// Of picture points well inside copper that carries current, the part that has the palette's colour for its value, and of
/// points well outside, the part that has none of the current's colours; with how many of each were looked at. Marks, words
/// and outlines lie over some of them.
fn coloured(browser: &mut Browser, [wide, tall]: [f64; 2], query: &str, key: &str, high: f64) -> [f64; 4] {
    let told = browser.value(&format!(
        "(async () => {{
          const {{ colour }} = await import('/palette.js');
          const map = (await (await fetch('/api/solve?{query}')).json()).copper_map;
          const canvas = document.getElementById('field'), [wide, tall] = [{wide}, {tall}];
          const c = canvas.getContext('2d'), k = (canvas.width - 12) / wide;
          const data = c.getImageData(0, 0, canvas.width, canvas.height).data;
          const at = (i, j) => map.{key}[j * map.nx + i];
          const token = (name) => {{ const p = document.createElement('i'); p.style.color = `var(--${{name}})`; document.body.append(p); const v = getComputedStyle(p).color.match(/[0-9.]+/g).map(Number); p.remove(); return v; }};
          const bare = [token('idle'), token('board')];
          const off = (a, b) => Math.max(...[0, 1, 2].map((n) => Math.abs(a[n] - b[n])));
          let flow = 0, right = 0, still = 0, plain = 0;
          for (let j = 6; j < map.ny - 6; j += 7) for (let i = 6; i < map.nx - 6; i += 7) {{
            const around = [];
            for (let b = -5; b <= 5; b++) for (let a = -5; a <= 5; a++) around.push(at(i + a, j + b));
            const x = 6 + k * (map.x0_mm + (i + 0.5) * map.pitch_mm), y = 6 + k * (tall - map.y0_mm - (j + 0.5) * map.pitch_mm);
            const o = 4 * (Math.floor(y) * canvas.width + Math.floor(x)), seen = [data[o], data[o + 1], data[o + 2]];
            const v = around.filter((one) => one !== null);
            if (v.length === around.length) {{
              flow += 1;
              // A screen point takes in some picture points: any value close by will do.
              if (v.some((one) => off(seen, colour(one / {high})) <= 6)) right += 1;
            }} else if (!v.length) {{
              still += 1;
              if (bare.some((one) => off(seen, one) <= 6)) plain += 1;
            }}
          }}
          return [right / flow, flow, plain / still, still];
        }})()"
    ));
    [0, 1, 2, 3].map(|index| number(&told[index]))
}

#[test]
fn current_is_drawn_where_it_flows_and_read_out_as_it_is() {
    let served = serve_demo();
    let mut browser = opened(&served);
    let query = "variant=plain&depth=0&copper_layer=0";
    let solved = served.solved(query);
    let (map, copper) = (&solved["copper_map"], &solved["run"]["copper"]);

    for (view, key, unit) in
        [("loss", "loss_w_per_cm2", "W/cm\u{b2}"), ("density", "density_a_per_mm2", "A/mm\u{b2}")]
    {
        let words = show(&mut browser, view, unit);
        let high: f64 = words.split(' ').next().unwrap().parse().unwrap();
        let [right, flow, plain, still] = coloured(&mut browser, [72.0, 48.0], query, key, high);
        assert!(flow > 300.0 && right > 0.9, "{view}: {right} of {flow}");
        assert!(still > 100.0 && plain > 0.8, "{view}: {plain} of {still}");
    }

    // The read-out under the pointer, in a pour between two emitters.
    let place = browser.value(
        "(() => { const c = document.getElementById('field'); c.scrollIntoView({ block: 'center', behavior: 'instant' }); const r = c.getBoundingClientRect(); const k = (r.width - 12) / 72; return [r.left + 6 + 21 * k, r.top + 6 + (48 - 30) * k]; })()",
    );
    browser.point(number(&place[0]), number(&place[1]));
    browser.wait_for("document.getElementById('readout').dataset.value");
    let says = text_of(&mut browser, "readout");
    let raw: f64 =
        browser.value("document.getElementById('readout').dataset.value").as_str().unwrap().parse().unwrap();
    let along = |at: f64, from: &str| ((at - number(&map[from])) / number(&map["pitch_mm"])) as i64;
    let (i, j) = (along(21.0, "x0_mm"), along(30.0, "y0_mm"));
    let nx = map["nx"].as_i64().unwrap();
    // Whole pixels of the screen put the pointer up to a picture point aside.
    let found = (-1..=1).flat_map(|b| (-1..=1).map(move |a| ((j + b) * nx + i + a) as usize)).find(|point| {
        let density = number(&map["density_a_per_mm2"][*point]);
        (density - raw).abs() <= 1e-6 * raw
    });
    let point = found.unwrap_or_else(|| panic!("{raw} is not of the map: {says}"));
    let wanted = format!(
        "{} A/mm\u{b2}, {} W/cm\u{b2} at x",
        three(raw),
        three(number(&map["loss_w_per_cm2"][point]))
    );
    assert!(says.starts_with(&wanted), "{says}, wanted {wanted}");
    // On a heat spreader nothing flows, and that is said.
    let millimetre = scale(&mut browser);
    browser.point(number(&place[0]) - 7.5 * millimetre, number(&place[1]) - 3.0);
    browser.wait_for("document.getElementById('readout').textContent.startsWith('No copper')");

    necks_are_listed_and_chosen(&mut browser, copper);
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}

/// Screen pixels for a millimetre.
fn scale(browser: &mut Browser) -> f64 {
    number(&browser.value("(document.getElementById('field').getBoundingClientRect().width - 12) / 72"))
}

fn necks_are_listed_and_chosen(browser: &mut Browser, copper: &Value) {
    // The answer comes first, with its numbers.
    let says = text_of(browser, "copper-says");
    let necks = copper["necks"].as_array().unwrap();
    let narrow = necks.iter().map(|neck| number(&neck["width_mm"])).fold(f64::MAX, f64::min);
    assert!(says.starts_with(&format!("Copper loses {} W", three(number(&copper["loss_w"])))), "{says}");
    assert!(says.contains(&format!("is {narrow:.2} mm wide")), "{says}");
    // Every neck has its line.
    let rows = browser.value(
        "[...document.querySelectorAll('#neck-table tbody tr')].map(r => [...r.cells].map(c => c.textContent))",
    );
    let rows = rows.as_array().unwrap();
    assert!(!necks.is_empty());
    assert_eq!(rows.len(), necks.len());
    for (index, (row, neck)) in rows.iter().zip(necks).enumerate() {
        let at = neck["at_mm"].as_array().unwrap();
        let ruled = |text: String, in_range: &str| {
            if neck[in_range] == json!(true) { text } else { format!("({text})") }
        };
        let wanted = [
            (index + 1).to_string(),
            neck["layer"].as_str().unwrap().to_owned(),
            format!("{:.2}", number(&neck["width_mm"])),
            format!("{:.1}, {:.1}", number(&at[0]), number(&at[1])),
            three(number(&neck["current_a"])),
            three(number(&neck["density_a_per_mm2"])),
            format!("{:.1}", number(&neck["rise_k"])),
            ruled(three(number(&neck["ipc_2221_rise_k"])), "ipc_2221_in_range"),
            ruled(format!("{:.2}", number(&neck["ipc_2221_width_mm"])), "ipc_2221_width_in_range"),
            format!("{:.2}", number(&neck["free_width_mm"])),
            three(number(&neck["widening_saves_w"])),
        ];
        assert_eq!(row, &json!(wanted), "neck {}", index + 1);
    }
    assert!(text_of(browser, "rule-says").contains(copper["ipc_2221_is"].as_str().unwrap()));
    // A neck's number shows it on the board, by keyboard; its mark on the board chooses its line.
    browser.value("document.querySelectorAll('#neck-table .mark')[0].focus()");
    let enter = json!({ "type": "keyDown", "key": "Enter", "code": "Enter", "windowsVirtualKeyCode": 13, "text": "\r" });
    browser.call("Input.dispatchKeyEvent", enter);
    browser.wait_for("document.querySelector('#neck-table tr.chosen .mark')?.textContent === '1'");
    let at = necks[0]["at_mm"].as_array().unwrap();
    let place = format!("at x {:.1}, y {:.1} mm", number(&at[0]), number(&at[1]));
    browser.wait_for(&format!("document.getElementById('readout').textContent.endsWith('{place}')"));
    assert_eq!(browser.value("document.activeElement.classList.contains('mark')"), true);
    if let Some(second) = necks.get(1) {
        let [x, y] = [0, 1].map(|axis| number(&second["at_mm"][axis]));
        browser.value(&format!(
            "(() => {{ const c = document.getElementById('field'), r = c.getBoundingClientRect(), k = (r.width - 12) / 72;
              c.dispatchEvent(new MouseEvent('click', {{ bubbles: true, clientX: r.left + 6 + {x} * k, clientY: r.top + 6 + (48 - {y}) * k }})); }})()"
        ));
        let chosen = browser.value("document.querySelector('#neck-table tr.chosen .mark').textContent");
        assert_eq!(chosen, "2");
    }
}

#[test]
fn each_copper_layer_is_shown_and_none_without_strings() {
    let served = example("pair-over-the-back");
    let mut browser = opened(&served);
    let words = show(&mut browser, "density", "A/mm\u{b2}");
    let high: f64 = words.split(' ').next().unwrap().parse().unwrap();
    // This board is not its own mirror image in any way.
    let query = "variant=pair&depth=0&copper_layer=0";
    let [right, flow, plain, still] = coloured(&mut browser, [40.0, 24.0], query, "density_a_per_mm2", high);
    assert!(flow > 300.0 && right > 0.9 && still > 50.0 && plain > 0.8, "{right} {flow} {plain} {still}");
    let layers = browser.value("[...document.getElementById('layer').options].map(o => o.textContent)");
    assert_eq!(layers, served.solved("variant=pair&depth=0")["copper_layers"]);
    let front = text_of(&mut browser, "range");
    choose(&mut browser, "layer", "1");
    browser.wait_for(&format!("document.getElementById('range').textContent.includes({})", layers[1]));
    assert_ne!(front, text_of(&mut browser, "range"));
    // Back to temperatures, and depths are chosen again.
    choose(&mut browser, "view", "temperature");
    browser.wait_for("document.getElementById('copper-key').hidden");
    let depth = browser.value("document.getElementById('depth').checkVisibility()");
    assert_eq!(depth, true);

    let plain = example("one-layer-single");
    browser.open(&plain.address);
    browser.wait_for(SETTLED);
    let shown =
        browser.value("['copper', 'view', 'layer'].map(id => document.getElementById(id).checkVisibility())");
    assert_eq!(shown, json!([false, false, false]));
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}

#[test]
fn the_copper_fits_every_window() {
    let served = serve_demo();
    let back = example("pair-over-the-back");
    let mut browser = Browser::start();
    for (served, name) in [(&served, "demo"), (&back, "pair")] {
        browser.size(1280, 800, 1.0);
        browser.open(&served.address);
        browser.wait_for(SETTLED);
        for view in ["loss", "density"] {
            choose(&mut browser, "view", view);
            browser.wait_for(DENSITY_SHOWN);
            for (width, height, scale, shade) in [
                (1280, 1500, 1.0, "light"),
                (1280, 1500, 1.0, "dark"),
                (390, 1700, 2.0, "light"),
                (390, 1700, 2.0, "dark"),
            ] {
                browser.size(width, height, scale);
                browser.value(&format!(
                    "(() => {{ if (document.documentElement.dataset.shade !== '{shade}') document.getElementById('shade').click(); scrollTo({{ top: 0, behavior: 'instant' }}); return new Promise(done => setTimeout(done, 250)); }})()"
                ));
                let overflow = browser
                    .value("document.documentElement.scrollWidth - document.documentElement.clientWidth");
                assert_eq!(overflow.as_f64(), Some(0.0), "{name} at {width}: no sideways scrolling");
                browser.picture(&format!("copper-{name}-{view}-{width}-{shade}.png"), None);
            }
        }
    }
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}
