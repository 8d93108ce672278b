//! The edges of one layer's islands sorted into square cells: which island is at a point, and which are near a line.

use crate::shape::{Area, Point};

/// Cells at most.
const MOST_CELLS: i64 = 1 << 20;

/// A directed edge; its island lies to the left.
#[derive(Debug, Clone, Copy)]
struct Edge {
    from: Point,
    to: Point,
    owner: u32,
}

/// Edges by cell: cell `c` holds `entries[starts[c]..starts[c + 1]]`.
#[derive(Debug, Clone, Default)]
pub(super) struct EdgeGrid {
    left_nm: i64,
    bottom_nm: i64,
    /// Cells are squares of 2^`shift` nm.
    shift: u32,
    columns: i64,
    rows: i64,
    starts: Vec<u32>,
    entries: Vec<u32>,
    edges: Vec<Edge>,
}

fn along(a: i32, b: i32) -> i64 {
    i64::from(b) - i64::from(a)
}

impl EdgeGrid {
    /// Sorts in the edges of polygons; an edge's owner is the polygon's number.
    pub(super) fn new<'a>(areas: impl Iterator<Item = &'a Area>) -> Self {
        let mut edges = Vec::new();
        for (owner, area) in areas.enumerate() {
            for contour in area.contours() {
                let Some(&last) = contour.last() else { continue };
                let mut from = last;
                for &to in contour {
                    edges.push(Edge { from, to, owner: owner as u32 });
                    from = to;
                }
            }
        }
        let Some(bounds) = crate::shape::bounds_of(edges.iter().map(|edge| &edge.to)) else {
            return Self::default();
        };
        let (width, height) = (bounds.width_nm() + 1, bounds.height_nm() + 1);
        let wished = (edges.len() as i64).clamp(1, MOST_CELLS);
        let mut grid = Self {
            left_nm: i64::from(bounds.min.x_nm),
            bottom_nm: i64::from(bounds.min.y_nm),
            shift: (width as f64 * height as f64 / wished as f64).sqrt().log2().round().clamp(0.0, 31.0)
                as u32,
            edges,
            ..Self::default()
        };
        // Narrow pictures get no more cells than wished; many long edges get larger cells, so that memory stays bounded.
        let most_entries = 8 * grid.edges.len() as i64 + MOST_CELLS;
        while grid.shift < 31
            && (((width >> grid.shift) + 1) * ((height >> grid.shift) + 1) > 2 * MOST_CELLS
                || grid.passages() > most_entries)
        {
            grid.shift += 1;
        }
        grid.columns = (width >> grid.shift) + 1;
        grid.rows = (height >> grid.shift) + 1;
        grid.sort_in();
        grid
    }

    /// How many cells all edges pass, about.
    fn passages(&self) -> i64 {
        let passed = |edge: &Edge| {
            1 + (along(edge.from.x_nm, edge.to.x_nm).abs() >> self.shift)
                + (along(edge.from.y_nm, edge.to.y_nm).abs() >> self.shift)
        };
        self.edges.iter().map(passed).sum()
    }

    fn sort_in(&mut self) {
        let cells = (self.columns * self.rows) as usize;
        let mut starts = vec![0u32; cells + 1];
        for edge in &self.edges {
            self.cells_of(edge, |cell| starts[cell + 1] += 1);
        }
        for cell in 0..cells {
            starts[cell + 1] += starts[cell];
        }
        let mut next = starts.clone();
        let mut entries = vec![0u32; starts[cells] as usize];
        for (index, edge) in self.edges.iter().enumerate() {
            self.cells_of(edge, |cell| {
                entries[next[cell] as usize] = index as u32;
                next[cell] += 1;
            });
        }
        (self.starts, self.entries) = (starts, entries);
    }

    fn column(&self, x_nm: i64) -> i64 {
        ((x_nm - self.left_nm) >> self.shift).clamp(0, self.columns - 1)
    }

    fn row(&self, y_nm: i64) -> i64 {
        ((y_nm - self.bottom_nm) >> self.shift).clamp(0, self.rows - 1)
    }

    /// Every cell that the edge passes, row by row, and a neighbour or two.
    fn cells_of(&self, edge: &Edge, mut take: impl FnMut(usize)) {
        let (low, high) =
            if edge.from.y_nm <= edge.to.y_nm { (edge.from, edge.to) } else { (edge.to, edge.from) };
        let (first, last) = (self.row(i64::from(low.y_nm)), self.row(i64::from(high.y_nm)));
        let (left, right) = (low.x_nm.min(high.x_nm), low.x_nm.max(high.x_nm));
        if first == last {
            for column in self.column(i64::from(left))..=self.column(i64::from(right)) {
                take((first * self.columns + column) as usize);
            }
            return;
        }
        let slope = along(low.x_nm, high.x_nm) as f64 / along(low.y_nm, high.y_nm) as f64;
        for row in first..=last {
            let at = |y_nm: i64| {
                let up = (y_nm - i64::from(low.y_nm)) as f64;
                (f64::from(low.x_nm) + up * slope) as i64
            };
            let floor = self.bottom_nm + (row << self.shift);
            let (a, b) = (at(floor), at(floor + (1 << self.shift)));
            // One nanometre for the rounding of the line.
            let (from_nm, to_nm) = (i64::from(left).max(a.min(b) - 1), i64::from(right).min(a.max(b) + 1));
            for column in self.column(from_nm)..=self.column(to_nm) {
                take((row * self.columns + column) as usize);
            }
        }
    }

    fn edges_in(&self, row: i64, column: i64) -> impl Iterator<Item = &Edge> {
        let cell = (row * self.columns + column) as usize;
        let range = match (self.starts.get(cell), self.starts.get(cell + 1)) {
            (Some(&from), Some(&to)) => from as usize..to as usize,
            _ => 0..0,
        };
        self.entries[range].iter().map(|&index| &self.edges[index as usize])
    }

    /// The island round a point; a point on an edge may fall on either side.
    pub(super) fn owner_at(&self, at: Point) -> Option<usize> {
        let (x_nm, y_nm) = (i64::from(at.x_nm), i64::from(at.y_nm));
        let beyond =
            |value: i64, start: i64, cells: i64| value < start || value >= start + (cells << self.shift);
        if beyond(x_nm, self.left_nm, self.columns) || beyond(y_nm, self.bottom_nm, self.rows) {
            return None;
        }
        // The nearest edge to the left that crosses the point's height: islands do not overlap, so its direction tells.
        let row = self.row(y_nm);
        let mut nearest: Option<(f64, &Edge)> = None;
        for column in (0..=self.column(x_nm)).rev() {
            for edge in self.edges_in(row, column) {
                if let Some(crossing) = crossing_left_of(edge, at)
                    && nearest.is_none_or(|(x, _)| crossing > x)
                {
                    nearest = Some((crossing, edge));
                }
            }
            let cell_left = (self.left_nm + (column << self.shift)) as f64;
            if nearest.is_some_and(|(x, _)| x > cell_left) {
                break;
            }
        }
        nearest.filter(|(_, edge)| edge.to.y_nm < edge.from.y_nm).map(|(_, edge)| edge.owner as usize)
    }

    /// The islands within a distance (nm) of a line of points, each with its distance: 0 where the line meets it.
    pub(super) fn near(&self, path: &[Point], within_nm: f64) -> Vec<(usize, f64)> {
        let mut found: Vec<(usize, f64)> = Vec::new();
        if self.edges.is_empty() {
            return found;
        }
        let mut add = |owner: usize, distance: f64| match found.iter_mut().find(|(known, _)| *known == owner)
        {
            Some((_, nearest)) => *nearest = nearest.min(distance),
            None => found.push((owner, distance)),
        };
        for &point in path {
            if let Some(owner) = self.owner_at(point) {
                add(owner, 0.0);
            }
        }
        let reach = within_nm.clamp(0.0, 1e10).ceil() as i64 + 1;
        let single = path.first().map(|&only| (only, only)).filter(|_| path.len() == 1);
        for (a, b) in path.windows(2).map(|pair| (pair[0], pair[1])).chain(single) {
            let x = [i64::from(a.x_nm.min(b.x_nm)) - reach, i64::from(a.x_nm.max(b.x_nm)) + reach];
            let y = [i64::from(a.y_nm.min(b.y_nm)) - reach, i64::from(a.y_nm.max(b.y_nm)) + reach];
            for row in self.row(y[0])..=self.row(y[1]) {
                for column in self.column(x[0])..=self.column(x[1]) {
                    for edge in self.edges_in(row, column) {
                        let outside = |p: i32, q: i32, range: [i64; 2]| {
                            i64::from(p.max(q)) < range[0] || i64::from(p.min(q)) > range[1]
                        };
                        if outside(edge.from.x_nm, edge.to.x_nm, x)
                            || outside(edge.from.y_nm, edge.to.y_nm, y)
                        {
                            continue;
                        }
                        let distance = distance_nm((a, b), (edge.from, edge.to));
                        if distance <= within_nm {
                            add(edge.owner as usize, distance);
                        }
                    }
                }
            }
        }
        found.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        found
    }
}

/// Where an edge crosses the point's height, when that is not to the right of the point.
fn crossing_left_of(edge: &Edge, at: Point) -> Option<f64> {
    let (from, to) = (edge.from, edge.to);
    if (from.y_nm <= at.y_nm) == (to.y_nm <= at.y_nm) {
        return None;
    }
    let side = side(from, to, at);
    let right = if to.y_nm > from.y_nm { side <= 0 } else { side >= 0 };
    let share = along(from.y_nm, at.y_nm) as f64 / along(from.y_nm, to.y_nm) as f64;
    right.then(|| f64::from(from.x_nm) + share * along(from.x_nm, to.x_nm) as f64)
}

/// Positive when the point is to the left of the edge. Points within the grid keep this below 2^63: all are within about a
/// metre.
fn side(from: Point, to: Point, at: Point) -> i64 {
    along(from.x_nm, to.x_nm) * along(from.y_nm, at.y_nm)
        - along(from.x_nm, at.x_nm) * along(from.y_nm, to.y_nm)
}

/// Distance of two straight lines, nm.
fn distance_nm(one: (Point, Point), other: (Point, Point)) -> f64 {
    // A line may come from anywhere: its products need more room than those of a layer's edges.
    let parts = |a: Point, b: Point, p: Point| {
        let by = |from: i32, to: i32| i128::from(along(from, to));
        (by(a.x_nm, b.x_nm) * by(a.y_nm, p.y_nm) - by(a.x_nm, p.x_nm) * by(a.y_nm, b.y_nm)).signum()
    };
    let crossing = one.0 != one.1
        && parts(one.0, one.1, other.0) * parts(one.0, one.1, other.1) < 0
        && parts(other.0, other.1, one.0) * parts(other.0, other.1, one.1) < 0;
    if crossing {
        return 0.0;
    }
    [(one.0, other), (one.1, other), (other.0, one), (other.1, one)]
        .into_iter()
        .map(|(point, line)| to_line_nm(point, line))
        .fold(f64::INFINITY, f64::min)
}

fn to_line_nm(point: Point, (from, to): (Point, Point)) -> f64 {
    let (dx, dy) = (along(from.x_nm, to.x_nm) as f64, along(from.y_nm, to.y_nm) as f64);
    let (px, py) = (along(from.x_nm, point.x_nm) as f64, along(from.y_nm, point.y_nm) as f64);
    let length2 = dx * dx + dy * dy;
    let share = if length2 > 0.0 { ((px * dx + py * dy) / length2).clamp(0.0, 1.0) } else { 0.0 };
    (px - share * dx).hypot(py - share * dy)
}

#[cfg(test)]
mod tests {
    use super::EdgeGrid;
    use crate::shape::{Area, Filling, Point};

    /// A few hundred triangles and discs thrown about, united: the grid must agree with the plain inside test and with
    /// distances measured edge by edge.
    #[test]
    fn the_grid_agrees_with_tests_of_every_polygon() {
        let mut state = 0x2545_F491_4F6C_DD1Du64;
        let mut roll = |most: i32| {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state % most as u64) as i32
        };
        let mut contours = Vec::new();
        for index in 0..300 {
            let centre = Point::new(roll(40_000_000) - 20_000_000, roll(30_000_000));
            if index % 3 == 0 {
                contours.extend(
                    Area::disc(centre, f64::from(roll(3_000_000))).polygons.into_iter().map(|p| p.outer),
                );
            } else {
                let ends = [Point::new(roll(40_000_000) - 20_000_000, roll(30_000_000)), centre];
                contours.extend(Area::track(&ends, 100_000.0).polygons.into_iter().map(|p| p.outer));
            }
        }
        let whole = Area::from_contours(&contours[..150], Filling::NonZero);
        let areas: Vec<Area> = whole.polygons.into_iter().map(|p| Area { polygons: vec![p] }).collect();
        assert!(areas.len() > 3);
        let grid = EdgeGrid::new(areas.iter());
        let mut inside = 0;
        for _ in 0..3000 {
            let at = Point::new(roll(46_000_000) - 23_000_000, roll(36_000_000) - 3_000_000);
            let plain = areas.iter().position(|area| area.contains(at));
            assert_eq!(grid.owner_at(at), plain, "{at:?}");
            inside += usize::from(plain.is_some());
            let near: Vec<usize> = grid.near(&[at], 400_000.0).into_iter().map(|(owner, _)| owner).collect();
            for (owner, area) in areas.iter().enumerate() {
                let close = area.contains(at)
                    || area.contours().any(|contour| {
                        contour
                            .iter()
                            .zip(contour.iter().cycle().skip(1))
                            .any(|(a, b)| super::to_line_nm(at, (*a, *b)) <= 400_000.0)
                    });
                assert_eq!(near.contains(&owner), close, "{at:?} {owner}");
            }
        }
        assert!(inside > 300, "{inside}");
        assert_eq!(EdgeGrid::new([].into_iter()).owner_at(Point::new(0, 0)), None);
    }
}
