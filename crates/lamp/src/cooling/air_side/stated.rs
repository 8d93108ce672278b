//! A heatsink by its maker's table of resistance over flow, joined with the fan that blows through it.

/// What the maker states.
#[derive(Debug, Clone, PartialEq)]
pub struct Stated {
    /// Flow, m³/s, and resistance from the base's back to the entering air, K/W; flows ascend, one point or more.
    pub k_per_w_by_flow: Vec<(f64, f64)>,
    /// Flow, m³/s, and pressure drop, Pa; `None`: the channels' dimensions tell it.
    pub pressure_by_flow: Option<Vec<(f64, f64)>>,
    /// For which source and base the resistance holds, in a sentence.
    pub holds_for: String,
}

impl Stated {
    /// Resistance at a flow, K/W; straight between the points. Above the last point its value is held; below the first it is taken to
    /// grow as the flow falls, `R = R1 q1 / q`: as much as it can where the air's warming is all of it. Both are on the safe side.
    /// `None` for still air of which nothing is stated.
    #[must_use]
    pub fn k_per_w(&self, flow_m3_per_s: f64) -> Option<f64> {
        let (first, last) = (self.k_per_w_by_flow.first()?, self.k_per_w_by_flow.last()?);
        if flow_m3_per_s >= last.0 {
            Some(last.1)
        } else if flow_m3_per_s >= first.0 {
            Some(between(&self.k_per_w_by_flow, flow_m3_per_s))
        } else {
            (flow_m3_per_s > 0.0).then(|| first.1 * first.0 / flow_m3_per_s)
        }
    }

    /// Whether still air is in the table.
    #[must_use]
    pub fn tells_still_air(&self) -> bool {
        self.k_per_w_by_flow.first().is_some_and(|point| point.0 <= 0.0)
    }

    /// Pressure drop at a flow, Pa; straight between the points, in proportion to the flow below the first, with its square beyond
    /// the last. `None` where it is not stated.
    #[must_use]
    pub fn pressure_pa(&self, flow_m3_per_s: f64) -> Option<f64> {
        let curve = self.pressure_by_flow.as_ref()?;
        let (first, last) = (curve.first()?, curve.last()?);
        let share = |of: f64| if of > 0.0 { flow_m3_per_s / of } else { 0.0 };
        Some(if flow_m3_per_s > last.0 {
            last.1 * share(last.0).powi(2)
        } else if flow_m3_per_s < first.0 {
            first.1 * share(first.0)
        } else {
            between(curve, flow_m3_per_s)
        })
    }

    /// What must be said about it.
    pub(super) fn remarks(&self, flow_m3_per_s: f64, all: &mut Vec<String>) {
        let litres = |point: Option<&(f64, f64)>| point.map_or(0.0, |p| (1e5 * p.0).round() / 100.0);
        let (from, to) = (litres(self.k_per_w_by_flow.first()), litres(self.k_per_w_by_flow.last()));
        all.push(format!(
            "the heatsink is its maker's table, {from} to {to} l/s, radiation and the warming of the air included as measured there: above it the \
             last K/W is held, below it the K/W grows as the flow falls; {}",
            self.holds_for
        ));
        if self.k_per_w(flow_m3_per_s).is_none() {
            all.push(
                "the air stands, and the maker's table says nothing of still air: the heatsink is taken to give nothing to it".into(),
            );
        }
    }
}

/// Straight between the points; the ends' values beyond them.
pub(crate) fn between(curve: &[(f64, f64)], at: f64) -> f64 {
    let after = curve.partition_point(|p| p.0 < at).min(curve.len().saturating_sub(1));
    let (Some(b), Some(a)) = (curve.get(after), curve.get(after.saturating_sub(1))) else { return 0.0 };
    if b.0 > a.0 { a.1 + (b.1 - a.1) * (at - a.0) / (b.0 - a.0) } else { b.1 }
}
