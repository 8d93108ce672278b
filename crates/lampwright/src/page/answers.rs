//! What the server answers: JSON, or trouble in plain words.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use lamp::bond_line::GapMap;
use lamp::findings::{FindingRemark, Run};
use lamp::model::{CopperMap, Depth, ModelError, Slice};
use serde::Serialize;

/// The lamp as the page needs it.
#[derive(Debug, Clone, Serialize)]
pub(super) struct About {
    pub name: String,
    pub version: &'static str,
    pub ambient_c: f64,
    pub currents_a: Vec<f64>,
    pub nominal_current_a: f64,
    pub board_limit_c: Option<f64>,
    /// Where the emitter side looks: `up`, `down`, `sideways`.
    pub facing: &'static str,
    pub variants: Vec<AboutVariant>,
    pub remarks: Vec<FindingRemark>,
}

/// A variant as the page needs it.
#[derive(Debug, Clone, Serialize)]
pub(super) struct AboutVariant {
    pub variant: String,
    pub title: String,
    pub drawing: lamp::drawing::Drawing,
    pub understood: Option<lamp::project::summary::VariantSummary>,
    /// Whether there is a bond line, and how it is given.
    pub has_bond: bool,
    pub bond_thickness_um: Option<f64>,
    pub bond_conductivity_w_per_m_k: Option<f64>,
    pub bond_resistance_m2k_per_w: Option<f64>,
    /// Whether holes have burrs, and whether board or heatsink is bowed.
    pub has_burrs: bool,
    pub has_bow: bool,
    /// Whether there is a heatsink, and how its way to the room is given.
    pub has_heatsink: bool,
    pub heatsink_k_per_w: Option<f64>,
    pub heatsink_h_w_per_m2_k: Option<f64>,
    /// Fins, fan and vents in words, where given so.
    pub heatsink_air: Option<String>,
    /// Voltage that the fan runs at, V, where there is one; whether there are vents.
    pub fan_voltage_v: Option<f64>,
    pub has_vents: bool,
    pub current_limit_a: Option<f64>,
    pub junction_limit_c: Option<f64>,
}

/// A solved question.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Solved {
    pub run: Run,
    pub depths: Vec<Depth>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slice: Option<Slice>,
    /// Copper layers that carry current.
    pub copper_layers: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub copper_map: Option<CopperMap>,
    /// The gap between board and heatsink, where it is uneven.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gap_map: Option<GapMap>,
}

/// What changes of the contact or of the cooling would do, of the question as asked.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Changed<WhatIf> {
    /// Drive current, A, and room, degC, of all of them.
    pub current_a: f64,
    pub ambient_c: f64,
    /// Empty without a steady state before the change.
    pub what_ifs: Vec<WhatIf>,
}

/// What is being worked on.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Work {
    pub at_work: Vec<super::at_work::Told>,
}

/// Why there is no answer.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Trouble {
    #[serde(skip)]
    status: StatusCode,
    /// Control it is about, where it is about one.
    pub field: Option<&'static str>,
    pub text: String,
}

impl Trouble {
    pub fn typed(field: &'static str, text: impl Into<String>) -> Self {
        Self { status: StatusCode::BAD_REQUEST, field: Some(field), text: text.into() }
    }

    pub fn plain(text: impl Into<String>) -> Self {
        Self { status: StatusCode::BAD_REQUEST, field: None, text: text.into() }
    }

    pub fn fault(text: impl Into<String>) -> Self {
        Self { status: StatusCode::INTERNAL_SERVER_ERROR, field: None, text: text.into() }
    }

    /// Nobody waits for the answer any more, or the program is ending.
    pub fn cancelled() -> Self {
        Self { status: StatusCode::CONFLICT, field: None, text: "the work was stopped".to_owned() }
    }
}

impl From<ModelError> for Trouble {
    fn from(error: ModelError) -> Self {
        match error {
            ModelError::Cancelled => Self::cancelled(),
            ModelError::Problem(text) => Self::plain(text),
        }
    }
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        (self.status, Json(self)).into_response()
    }
}

pub(super) fn json(object: &impl Serialize) -> Response {
    match serde_json::to_vec(object) {
        Ok(bytes) => ([(axum::http::header::CONTENT_TYPE, "application/json")], bytes).into_response(),
        Err(_) => Trouble::fault("the answer could not be written").into_response(),
    }
}
