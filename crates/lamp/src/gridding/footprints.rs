//! Where heat enters and where temperatures are averaged: the columns under a land or patch.

use artwork::coverage::coverage;
use artwork::shape::Area;

use super::plan::Plan;

/// The columns under an area, and how much of the area lies on each.
#[derive(Debug, Clone, Default)]
pub(crate) struct Footprint {
    /// Column and its part of the whole area; the parts sum to 1.
    pub columns: Vec<(usize, f64)>,
    /// Area that lies on the board, m².
    pub area_m2: f64,
}

impl Footprint {
    /// Of an area, on the columns for which `present` holds.
    pub fn new(area: &Area, plan: &Plan, present: impl Fn(usize) -> bool) -> Self {
        let areas = plan.areas_m2();
        let covered = coverage(area, &plan.x_nm, &plan.y_nm);
        let parts: Vec<(usize, f64)> = covered
            .iter()
            .zip(&areas)
            .enumerate()
            .filter(|(column, (share, _))| **share > 1e-9 && present(*column))
            .map(|(column, (share, area))| (column, share * area))
            .collect();
        let area_m2: f64 = parts.iter().map(|p| p.1).sum();
        let columns = parts.into_iter().map(|(column, part)| (column, part / area_m2)).collect();
        Self { columns, area_m2 }
    }

    /// Mean of a value given for each column.
    pub fn mean(&self, value: impl Fn(usize) -> f64) -> f64 {
        self.columns.iter().map(|&(column, part)| part * value(column)).sum()
    }

    /// Part of the area on columns for which `holds`.
    pub fn part_where(&self, holds: impl Fn(usize) -> bool) -> f64 {
        self.columns.iter().filter(|c| holds(c.0)).map(|c| c.1).sum()
    }
}
