//! Files of the page, compiled in.

use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

const FILES: &[(&str, &str, &str)] = &[
    ("index.html", "text/html; charset=utf-8", include_str!("../../page/index.html")),
    ("page.css", "text/css; charset=utf-8", include_str!("../../page/page.css")),
    ("page.js", "text/javascript; charset=utf-8", include_str!("../../page/page.js")),
    ("contact.js", "text/javascript; charset=utf-8", include_str!("../../page/contact.js")),
    ("air.js", "text/javascript; charset=utf-8", include_str!("../../page/air.js")),
    ("what_if.js", "text/javascript; charset=utf-8", include_str!("../../page/what_if.js")),
    ("board.js", "text/javascript; charset=utf-8", include_str!("../../page/board.js")),
    ("copper.js", "text/javascript; charset=utf-8", include_str!("../../page/copper.js")),
    ("necks.js", "text/javascript; charset=utf-8", include_str!("../../page/necks.js")),
    ("isotherms.js", "text/javascript; charset=utf-8", include_str!("../../page/isotherms.js")),
    ("live.html", "text/html; charset=utf-8", include_str!("../../page/live.html")),
    ("live.css", "text/css; charset=utf-8", include_str!("../../page/live.css")),
    ("live.js", "text/javascript; charset=utf-8", include_str!("../../page/live.js")),
    ("staircase.js", "text/javascript; charset=utf-8", include_str!("../../page/staircase.js")),
    ("chart.js", "text/javascript; charset=utf-8", include_str!("../../page/chart.js")),
    ("scale.js", "text/javascript; charset=utf-8", include_str!("../../page/scale.js")),
    ("sentences.js", "text/javascript; charset=utf-8", include_str!("../../page/sentences.js")),
    ("tables.js", "text/javascript; charset=utf-8", include_str!("../../page/tables.js")),
    ("controls.js", "text/javascript; charset=utf-8", include_str!("../../page/controls.js")),
    ("labels.js", "text/javascript; charset=utf-8", include_str!("../../page/labels.js")),
    ("lie.js", "text/javascript; charset=utf-8", include_str!("../../page/lie.js")),
    ("palette.js", "text/javascript; charset=utf-8", include_str!("../../page/palette.js")),
    ("plan.js", "text/javascript; charset=utf-8", include_str!("../../page/plan.js")),
    ("planchart.js", "text/javascript; charset=utf-8", include_str!("../../page/planchart.js")),
    ("verdict.js", "text/javascript; charset=utf-8", include_str!("../../page/verdict.js")),
    ("agreement.js", "text/javascript; charset=utf-8", include_str!("../../page/agreement.js")),
    ("figures.js", "text/javascript; charset=utf-8", include_str!("../../page/figures.js")),
    ("fitted.js", "text/javascript; charset=utf-8", include_str!("../../page/fitted.js")),
    ("origins.js", "text/javascript; charset=utf-8", include_str!("../../page/origins.js")),
    ("work.js", "text/javascript; charset=utf-8", include_str!("../../page/work.js")),
    ("words.js", "text/javascript; charset=utf-8", include_str!("../../page/words.js")),
    ("timewindow.js", "text/javascript; charset=utf-8", include_str!("../../page/timewindow.js")),
    ("timedrawing.js", "text/javascript; charset=utf-8", include_str!("../../page/timedrawing.js")),
    ("timetelling.js", "text/javascript; charset=utf-8", include_str!("../../page/timetelling.js")),
    ("timechart.js", "text/javascript; charset=utf-8", include_str!("../../page/timechart.js")),
    ("bench.js", "text/javascript; charset=utf-8", include_str!("../../page/bench.js")),
    ("benchtables.js", "text/javascript; charset=utf-8", include_str!("../../page/benchtables.js")),
    ("intervals.js", "text/javascript; charset=utf-8", include_str!("../../page/intervals.js")),
    ("icon.svg", "image/svg+xml", include_str!("../../page/icon.svg")),
];

/// A file by name.
pub(super) fn answer(name: &str) -> Response {
    match FILES.iter().find(|(known, ..)| *known == name) {
        Some((_, kind, text)) => ([(header::CONTENT_TYPE, *kind)], *text).into_response(),
        None => (StatusCode::NOT_FOUND, "There is no such page.\n").into_response(),
    }
}
