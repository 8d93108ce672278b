//! From pixels or blocks to blocks of two by two: pieces of a block that do not hang together inside it stay apart, so that
//! no gap is bridged on any level.
//!
//! Two blocks are joined by what stands between their middles: half a block's own conductance, the side, half the other's
//! own. A correction reaches a block's part by the same resistances, from its own block and from those beyond its outer sides.

use super::graph::{Graph, Level, NONE, Place};
use super::sparse::Sparse;

/// A side of a block's part.
#[derive(Debug, Clone, Copy)]
pub(super) struct Towards {
    pub to: u32,
    pub g: f32,
    /// 0 along x, 1 along y.
    pub axis: usize,
    /// Whether it leads out of the block of two by two.
    pub outward: bool,
}

/// What is known of each part's sides.
pub(super) trait Faces: Sync {
    fn faces(&self, v: u32, see: &mut impl FnMut(Towards));
    /// Conductance along an axis to the other part of the block.
    fn inward(&self, v: u32, axis: usize) -> f32;
}

/// Half of a part's own resistance along an axis.
#[inline]
fn half(inward: f32) -> f32 {
    if inward > 0.0 { 0.5 / inward } else { 0.0 }
}

/// Conductance between the middles of two blocks over a side: that of the halves in series is too little beside a land,
/// half the side's own, by which the parts would follow their blocks without resistance, too much; the mean of both.
#[inline]
fn between_middles(near: f32, g: f32, far: f32) -> f32 {
    let series = 1.0 / (near + 1.0 / g + far);
    (series * series.max(0.5 * g)).sqrt()
}

/// Entries of a coarse block from its parts: conductances to its neighbours.
pub(super) fn neighbours<F: Faces>(fine: &F, part: u32, up: &impl Fn(u32) -> u32, out: &mut Vec<(u32, f32)>) {
    fine.faces(part, &mut |face| {
        if !face.outward {
            return;
        }
        let near = half(fine.inward(part, face.axis));
        let far = half(fine.inward(face.to, face.axis));
        add(out, up(face.to), between_middles(near, face.g, far));
    });
}

/// Weights by which a part follows its own block and those beyond its outer sides; a point between two follows both.
pub(super) fn weights<F: Faces>(
    fine: &F,
    part: u32,
    between: &[(u32, [u32; 2])],
    up: &impl Fn(u32) -> u32,
    out: &mut Vec<(u32, f32)>,
) {
    let own = up(part);
    if own == NONE {
        if let Ok(found) = between.binary_search_by_key(&part, |b| b.0) {
            between[found].1.iter().for_each(|end| add(out, up(*end), 0.5));
        }
        return;
    }
    out.push((own, 1.0));
    fine.faces(part, &mut |face| {
        if !face.outward {
            return;
        }
        let near = half(fine.inward(part, face.axis));
        if near > 0.0 {
            let far = half(fine.inward(face.to, face.axis));
            let weight = near / (near + 1.0 / face.g + far);
            out[0].1 -= weight;
            add(out, up(face.to), weight);
        }
    });
}

pub(super) fn add(out: &mut Vec<(u32, f32)>, to: u32, value: f32) {
    match out.iter_mut().find(|entry| entry.0 == to) {
        Some(entry) => entry.1 += value,
        None => out.push((to, value)),
    }
}

/// Blocks in the order in which they were found, with their colours; `NONE` as colour of none.
#[derive(Debug, Default)]
pub(super) struct Blocks {
    pub red: Vec<Place>,
    pub black: Vec<Place>,
}

/// Puts together a level from its blocks: links between sheets of one colour get a point between them.
pub(super) struct Joined {
    pub graph: Graph,
    /// Where black blocks begin.
    pub first_black: u32,
    /// Entries of links, by row.
    extra: Vec<(u32, u32, f32)>,
}

/// A block by its colour (lowest bit: black) and its number among its colour.
#[inline]
pub(super) fn coded(number: usize, black: bool) -> u32 {
    (number as u32) << 1 | u32::from(black)
}

impl Joined {
    /// `links` between coded blocks.
    pub fn new(blocks: Blocks, mut links: Vec<(u32, u32, f32)>) -> Self {
        for link in &mut links {
            if link.0 > link.1 {
                (link.0, link.1) = (link.1, link.0);
            }
        }
        links.retain(|link| link.0 != link.1);
        links.sort_by_key(|link| (link.0, link.1));
        links.dedup_by(|next, kept| {
            let same = (next.0, next.1) == (kept.0, kept.1);
            if same {
                kept.2 += next.2;
            }
            same
        });
        let alike = |link: &&(u32, u32, f32)| (link.0 ^ link.1) & 1 == 0;
        // Between two black blocks stands a red point, and the other way round.
        let red_points = links.iter().filter(alike).filter(|link| link.0 & 1 == 1).count();
        let black_points = links.iter().filter(alike).count() - red_points;
        let (red_blocks, black_blocks) = (blocks.red.len(), blocks.black.len());
        let red = red_blocks + red_points;
        let decode = |code: u32| if code & 1 == 0 { code >> 1 } else { red as u32 + (code >> 1) };
        let mut place = blocks.red;
        place.resize(red, Place { i: 0, j: 0, sheet: NONE });
        place.extend(blocks.black);
        place.resize(red + black_blocks + black_points, Place { i: 0, j: 0, sheet: NONE });
        let (mut next_red, mut next_black) = (red_blocks, red + black_blocks);
        let mut extra = Vec::new();
        let mut between = Vec::new();
        let mut join = |a: u32, b: u32, g: f32| extra.extend([(a, b, g), (b, a, g)]);
        for link in &mut links {
            let same = (link.0 ^ link.1) & 1 == 0;
            let next = if link.0 & 1 == 1 { &mut next_red } else { &mut next_black };
            (link.0, link.1) = (decode(link.0), decode(link.1));
            if same {
                let point = *next as u32;
                *next += 1;
                join(link.0, point, 2.0 * link.2);
                join(link.1, point, 2.0 * link.2);
                between.push((point, [link.0, link.1]));
                let Place { i, j, .. } = place[link.0 as usize];
                place[point as usize] = Place { i, j, sheet: NONE };
            } else {
                join(link.0, link.1, link.2);
            }
        }
        extra.sort_by_key(|entry| (entry.0, entry.1));
        between.sort_unstable();
        let ground = vec![0.0; place.len()];
        let graph = Graph { red, place, ground, links, between, ..Graph::default() };
        Self { graph, first_black: red as u32, extra }
    }

    #[inline]
    pub fn decode(&self, code: u32) -> u32 {
        match code {
            NONE => NONE,
            code if code & 1 == 0 => code >> 1,
            code => self.first_black + (code >> 1),
        }
    }

    /// Finds the conductances, given those to the neighbours in the sheet.
    pub fn finish(mut self, faces: impl Fn(usize, &mut Vec<(u32, f32)>) + Sync) -> Graph {
        let extra = &self.extra;
        self.graph.rows = Sparse::build(self.graph.place.len(), |row, out| {
            faces(row, out);
            if !extra.is_empty() {
                let from = extra.partition_point(|e| (e.0 as usize) < row);
                extra[from..]
                    .iter()
                    .take_while(|e| e.0 as usize == row)
                    .for_each(|(_, to, g)| out.push((*to, *g)));
            }
        });
        let (rows, ground) = (&self.graph.rows, &self.graph.ground);
        let mut inverse = vec![0.0; ground.len()];
        super::sparse::fill(&mut inverse, |i| {
            let sum = ground[i] + rows.row(i).map(|(_, g)| g).sum::<f32>();
            if sum > 0.0 { 1.0 / sum } else { 0.0 }
        });
        self.graph.inverse = inverse;
        self.graph
    }
}

/// Blocks of a level to the blocks of the next; with `merged`, sheets that links join go into one.
pub(super) fn coarser(level: &mut Level, odd: &[bool], merged: bool) -> Graph {
    level.graph.look_inside();
    let fine = &level.graph;
    let count = fine.place.len();
    let mut root: Vec<u32> = (0..count as u32).collect();
    for v in 0..count as u32 {
        fine.faces(v, &mut |face| {
            if !face.outward && face.to < v {
                unite(&mut root, v, face.to);
            }
        });
    }
    if merged {
        fine.links.iter().for_each(|(a, b, _)| unite(&mut root, *a, *b));
    }
    let mut blocks = Blocks::default();
    let mut code = vec![NONE; count];
    for v in 0..count as u32 {
        let place = fine.place[v as usize];
        if place.sheet == NONE {
            continue;
        }
        let r = find(&mut root, v) as usize;
        if code[r] == NONE {
            let sheet = if merged { 0 } else { place.sheet };
            let block = Place { i: place.i / 2, j: place.j / 2, sheet };
            let lifted = !merged && odd[place.sheet as usize];
            let black = (block.i + block.j + u32::from(lifted)) & 1 == 1;
            let list = if black { &mut blocks.black } else { &mut blocks.red };
            code[r] = coded(list.len(), black);
            list.push(block);
        }
        code[v as usize] = code[r];
    }
    let links = fine.links.iter().map(|(a, b, g)| (code[*a as usize], code[*b as usize], *g)).collect();
    let mut joined = Joined::new(blocks, links);
    let up: Vec<u32> = code.iter().map(|code| joined.decode(*code)).collect();
    for (v, g) in fine.ground.iter().enumerate() {
        if up[v] != NONE {
            joined.graph.ground[up[v] as usize] += g;
        }
    }
    let (start, members) = members(&up, joined.graph.place.len());
    let graph = joined.finish(|row, out| {
        for part in &members[start[row] as usize..start[row + 1] as usize] {
            neighbours(fine, *part, &|v| up[v as usize], out);
        }
    });
    level.up = Sparse::build(fine.red, |row, out| {
        weights(fine, row as u32, &fine.between, &|v| up[v as usize], out);
    });
    level.down = level.up.transposed(graph.place.len());
    level.graph.inside = Vec::new();
    graph
}

/// Parts of each block, one block after the other, and where each begins.
fn members(up: &[u32], blocks: usize) -> (Vec<u32>, Vec<u32>) {
    let mut start = vec![0u32; blocks + 1];
    up.iter().filter(|block| **block != NONE).for_each(|block| start[*block as usize + 1] += 1);
    for block in 0..blocks {
        start[block + 1] += start[block];
    }
    let mut next = start.clone();
    let mut members = vec![0; start[blocks] as usize];
    for (v, block) in up.iter().enumerate().filter(|(_, block)| **block != NONE) {
        members[next[*block as usize] as usize] = v as u32;
        next[*block as usize] += 1;
    }
    (start, members)
}

fn find(root: &mut [u32], mut v: u32) -> u32 {
    while root[v as usize] != v {
        root[v as usize] = root[root[v as usize] as usize];
        v = root[v as usize];
    }
    v
}

fn unite(root: &mut [u32], a: u32, b: u32) {
    let (a, b) = (find(root, a), find(root, b));
    root[a.max(b) as usize] = a.min(b);
}
