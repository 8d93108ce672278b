//! Test points of netlists to islands.

use super::{Nets, REGISTRATION_NM};
use crate::netlist::{Netlist, PointKind, TestPoint};
use crate::remark::{Remark, Severity};
use crate::roles::Role;

/// Test points without copper that are told one by one, for a file.
const TOLD: usize = 20;
/// How far a surface point may lie beside its copper, nm: the rounding of either unit, and no clearance.
const BESIDE_NM: f64 = 10_000.0;

/// Where a test point is on copper.
pub(super) struct Landed<'a> {
    pub(super) point: &'a TestPoint,
    pub(super) island: usize,
}

/// The test points of a netlist that are on copper. A netlist of which less than half is on copper is not used: its
/// origin or its unit is another.
pub(super) fn landed<'a>(netlist: &'a Netlist, nets: &Nets, remarks: &mut Vec<Remark>) -> Vec<Landed<'a>> {
    let electrical = || netlist.points.iter().filter(|point| point.kind != PointKind::Tooling);
    let (mut landed, mut bare) = (Vec::new(), Vec::new());
    for point in electrical() {
        match island_of(point, nets) {
            Some(island) => landed.push(Landed { point, island }),
            None => bare.push(point),
        }
    }
    let all = landed.len() + bare.len();
    let file = netlist.file.as_str();
    if 2 * landed.len() < all {
        let text = format!(
            "only {} of {all} test points lie on copper; the netlist names no net (do all files share one origin?)",
            landed.len()
        );
        remarks.push(Remark::about(Severity::Warning, file, text));
        return Vec::new();
    }
    for point in bare.iter().take(TOLD) {
        let whose = match (point.net.as_str(), point.reference.as_str()) {
            ("", reference) => reference.to_owned(),
            (net, "") => format!("net \"{net}\""),
            (net, reference) => format!("net \"{net}\", {reference} pin {}", point.pin),
        };
        let (x, y) = (f64::from(point.at.x_nm) / 1e6, f64::from(point.at.y_nm) / 1e6);
        let text = format!("there is no copper at the test point {x:.3}, {y:.3} mm ({whose})");
        remarks.push(Remark::at(Severity::Warning, file, point.line, text));
    }
    if bare.len() > TOLD {
        let text = format!("{} more test points have no copper", bare.len() - TOLD);
        remarks.push(Remark::about(Severity::Warning, file, text));
    }
    landed
}

/// The island that a test point touches. A surface point has it on its own side; a hole on any layer.
fn island_of(point: &TestPoint, nets: &Nets) -> Option<usize> {
    let within_nm = match point.kind {
        PointKind::Surface => BESIDE_NM,
        _ => f64::from(point.hole_nm.unwrap_or(0).max(0)) / 2.0 + f64::from(REGISTRATION_NM),
    };
    let wanted = |role: Role| match (point.kind, point.access) {
        (PointKind::Surface, Some(1)) => role == Role::CopperTop,
        // Some writers give the bottom side as 2 whatever the number of layers.
        (PointKind::Surface, Some(access)) if access > 1 => role == Role::CopperBottom,
        (PointKind::Surface, _) => !matches!(role, Role::CopperInner(_)),
        _ => true,
    };
    let mut layers = nets.layers.iter().filter(|layer| wanted(layer.role));
    layers.find_map(|layer| layer.near(&[point.at], within_nm).first().map(|(island, _)| *island))
}
