//! A coarse level: blocks of copper that hang together, coloured like a chessboard so that neighbours differ, and its sweeps.

use rayon::prelude::*;

use super::coarsen::{Faces, Towards};
use super::floor::Floor;
use super::sparse::{Sparse, fill};

/// A block's place on its level and its sheet; those between two blocks of one colour have no sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    pub i: u32,
    pub j: u32,
    pub sheet: u32,
}

/// No sheet, no block.
pub(super) const NONE: u32 = u32::MAX;

/// Blocks, red ones first, and what joins them.
#[derive(Debug, Clone, Default)]
pub(super) struct Graph {
    /// Number of red blocks.
    pub red: usize,
    pub place: Vec<Place>,
    /// Conductances to the neighbours, every one of the other colour.
    pub rows: Sparse,
    pub ground: Vec<f32>,
    pub inverse: Vec<f32>,
    /// Conductance to the other part of the block of the next level, along x and y.
    pub inside: Vec<[f32; 2]>,
    /// Links between sheets before they were split.
    pub links: Vec<(u32, u32, f32)>,
    /// What stands between two blocks of one colour, and these two.
    pub between: Vec<(u32, [u32; 2])>,
}

impl Faces for Graph {
    fn faces(&self, v: u32, see: &mut impl FnMut(Towards)) {
        let here = self.place[v as usize];
        for (to, g) in self.rows.row(v as usize) {
            let there = self.place[to as usize];
            if there.sheet == NONE || (there.i == here.i && there.j == here.j) {
                continue;
            }
            let axis = usize::from(there.i == here.i);
            see(Towards { to, g, axis, outward: there.i / 2 != here.i / 2 || there.j / 2 != here.j / 2 });
        }
    }

    fn inward(&self, v: u32, axis: usize) -> f32 {
        self.inside[v as usize][axis]
    }
}

impl Graph {
    /// Finds what the next level asks for again and again.
    pub fn look_inside(&mut self) {
        let this = &*self;
        let of = |v: usize| {
            let mut inside = [0.0; 2];
            this.faces(v as u32, &mut |face| {
                if !face.outward {
                    inside[face.axis] += face.g;
                }
            });
            inside
        };
        let inside = (0..self.place.len()).into_par_iter().with_min_len(4096).map(of).collect();
        self.inside = inside;
    }
}

/// A coarse level with what a cycle needs on it.
#[derive(Debug, Clone, Default)]
pub(super) struct Level {
    pub graph: Graph,
    /// From the next level to this one's red blocks, and back.
    pub up: Sparse,
    pub down: Sparse,
    pub x: Vec<f32>,
    pub b: Vec<f32>,
    residual: Vec<f32>,
}

impl Level {
    pub fn new(graph: Graph) -> Self {
        let (count, red) = (graph.place.len(), graph.red);
        Self {
            graph,
            up: Sparse::default(),
            down: Sparse::default(),
            x: vec![0.0; count],
            b: vec![0.0; count],
            residual: vec![0.0; red],
        }
    }

    fn sweep_red(&mut self) {
        let red = self.graph.red;
        let (x_red, x_black) = self.x.split_at_mut(red);
        let (rows, inverse, b) = (&self.graph.rows, &self.graph.inverse, &self.b);
        fill(x_red, |i| {
            inverse[i] * (b[i] + rows.row(i).map(|(c, g)| g * x_black[c as usize - red]).sum::<f32>())
        });
    }

    fn sweep_black(&mut self) {
        let red = self.graph.red;
        let (x_red, x_black) = self.x.split_at_mut(red);
        let (rows, inverse, b) = (&self.graph.rows, &self.graph.inverse, &self.b);
        fill(x_black, |i| inverse[red + i] * (b[red + i] + rows.times(red + i, x_red)));
    }

    /// Sweeps from 0, and what is left then: nothing at black blocks.
    fn down(&mut self) {
        let red = self.graph.red;
        let (inverse, b) = (&self.graph.inverse, &self.b);
        fill(&mut self.x[..red], |i| inverse[i] * b[i]);
        self.sweep_black();
        let (rows, x_black) = (&self.graph.rows, &self.x[red..]);
        fill(&mut self.residual, |i| rows.row(i).map(|(c, g)| g * x_black[c as usize - red]).sum());
    }

    /// Takes up the next level's correction and sweeps the other way.
    fn up(&mut self, coarse: &[f32]) {
        let (up, inverse, b) = (&self.up, &self.graph.inverse, &self.b);
        let red = self.graph.red;
        fill(&mut self.x[..red], |i| inverse[i] * b[i] + up.times(i, coarse));
        self.sweep_black();
        self.sweep_red();
    }
}

/// A cycle over the levels: from the first one's right side to its field.
pub(super) fn cycle(levels: &mut [Level], floor: &Floor) {
    let Some((level, rest)) = levels.split_first_mut() else { return };
    if rest.is_empty() {
        floor.solve(&level.b, &mut level.x);
        return;
    }
    level.down();
    let (down, residual) = (&level.down, &level.residual);
    fill(&mut rest[0].b, |i| down.times(i, residual));
    cycle(rest, floor);
    level.up(&rest[0].x);
}
