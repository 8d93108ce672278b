//! Reading a value given for each column at any place.

use crate::gridding::Plan;

/// Value at a place, mm, straight between the middles of the columns that have one; `None` where the column has none.
pub(crate) fn at(plan: &Plan, values: &[f64], x_mm: f64, y_mm: f64) -> Option<f64> {
    let value = |column: usize| values.get(column).copied().unwrap_or(f64::NAN);
    let weights = weights(plan, |column| value(column).is_finite(), x_mm, y_mm)?;
    Some(weights.iter().map(|(column, w)| w * value(*column)).sum())
}

/// Columns and their weights, whose sum is 1, with which [`at`] reads a place, mm; `None` where its column is not `present`.
pub(crate) fn weights(
    plan: &Plan,
    present: impl Fn(usize) -> bool,
    x_mm: f64,
    y_mm: f64,
) -> Option<Vec<(usize, f64)>> {
    let (x, y) = (1e6 * x_mm, 1e6 * y_mm);
    let (i, j) = (cell_of(&plan.x_nm, x)?, cell_of(&plan.y_nm, y)?);
    let own = j * plan.nx() + i;
    if !present(own) {
        return None;
    }
    let (i0, part_x) = left_of(&plan.x_nm, i, x);
    let (j0, part_y) = left_of(&plan.y_nm, j, y);
    let mut weights = Vec::with_capacity(4);
    for (row, wy) in [(j0, 1.0 - part_y), (j0 + 1, part_y)] {
        for (column, wx) in [(i0, 1.0 - part_x), (i0 + 1, part_x)] {
            let at = row * plan.nx() + column;
            if wx * wy > 0.0 && column < plan.nx() && row < plan.ny() && present(at) {
                weights.push((at, wx * wy));
            }
        }
    }
    let sum: f64 = weights.iter().map(|w| w.1).sum();
    if sum > 0.0 {
        weights.iter_mut().for_each(|w| w.1 /= sum);
        Some(weights)
    } else {
        Some(vec![(own, 1.0)])
    }
}

/// Cell that holds `v`; the last line belongs to the last cell.
fn cell_of(lines: &[f64], v: f64) -> Option<usize> {
    let (first, last) = (lines.first()?, lines.last()?);
    if !(v >= *first && v <= *last) {
        return None;
    }
    Some(lines.partition_point(|l| *l <= v).clamp(1, lines.len() - 1) - 1)
}

/// The cell whose middle lies to the left of `v`, and how far `v` is on the way to the next middle, 0..1.
fn left_of(lines: &[f64], cell: usize, v: f64) -> (usize, f64) {
    let middle = |c: usize| 0.5 * (lines[c] + lines[c + 1]);
    let count = lines.len() - 1;
    let left = if v >= middle(cell) { Some(cell) } else { cell.checked_sub(1) };
    match left {
        Some(l) if l + 1 < count => (l, ((v - middle(l)) / (middle(l + 1) - middle(l))).clamp(0.0, 1.0)),
        Some(l) => (l, 0.0),
        None => (0, 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plane_is_read_exactly_and_gaps_are_nothing() {
        let plan = Plan { x_nm: vec![0.0, 1e6, 3e6, 4e6], y_nm: vec![0.0, 2e6, 3e6] };
        let value = |x: f64, y: f64| 1.0 + 2.0 * x + 3.0 * y;
        let mut values: Vec<f64> = (0..6).map(|c| plan.centre_mm(c)).map(|[x, y]| value(x, y)).collect();
        for (x, y) in [(0.7, 1.2), (2.0, 1.0), (3.2, 2.4)] {
            let found = at(&plan, &values, x, y).unwrap();
            assert!((found - value(x, y)).abs() < 1e-12, "{x} {y} {found}");
        }
        values[0] = f64::NAN;
        assert_eq!(at(&plan, &values, 0.5, 1.0), None);
        assert_eq!(at(&plan, &values, 5.0, 1.0), None);
        assert!(at(&plan, &values, 1.01, 1.0).unwrap().is_finite());
    }
}
