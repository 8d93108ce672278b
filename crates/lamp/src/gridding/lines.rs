//! Grid lines along one axis: fine at the features, growing smoothly between, held at edges that matter.

/// What lines are wanted along one axis; lengths in nanometres.
#[derive(Debug, Clone, Default)]
pub(crate) struct LineWish {
    /// First and last line.
    pub extent: (f64, f64),
    /// Places that get a line, the most important first; one too close to a more important one is left out.
    pub anchors: Vec<f64>,
    /// Places where the cells have the finest pitch.
    pub features: Vec<f64>,
    /// Finest pitch.
    pub finest: f64,
    /// Widest pitch.
    pub widest: f64,
    /// Growth of the pitch with the distance from the nearest feature; cells grow by `1 + growth` from one to the next.
    pub growth: f64,
}

/// Lines, strictly ascending, whole nanometres, at least two.
pub(crate) fn lines(wish: &LineWish) -> Vec<f64> {
    let mut features = wish.features.clone();
    features.sort_by(f64::total_cmp);
    let anchors = kept_anchors(wish, &features);
    let mut all = Vec::new();
    for pair in anchors.windows(2) {
        all.push(pair[0]);
        fill(wish, &features, pair[0], pair[1], &mut all);
    }
    all.extend(anchors.last());
    all
}

/// Pitch wanted at `x`.
fn pitch(wish: &LineWish, features: &[f64], x: f64) -> f64 {
    let next = features.partition_point(|&f| f < x);
    let above = features.get(next).map_or(f64::INFINITY, |f| f - x);
    let below = next.checked_sub(1).and_then(|k| features.get(k)).map_or(f64::INFINITY, |f| x - f);
    (wish.finest + wish.growth * above.min(below)).min(wish.widest)
}

fn kept_anchors(wish: &LineWish, features: &[f64]) -> Vec<f64> {
    let (low, high) = (wish.extent.0.round(), wish.extent.1.round());
    let mut kept = vec![low, high];
    for anchor in &wish.anchors {
        let anchor = anchor.round();
        let room = 0.45 * pitch(wish, features, anchor);
        if anchor > low && anchor < high && kept.iter().all(|k| (k - anchor).abs() >= room.max(1.0)) {
            kept.push(anchor);
        }
    }
    kept.sort_by(f64::total_cmp);
    kept
}

/// Lines strictly between two anchors, at equal parts of the integral of 1 / pitch.
fn fill(wish: &LineWish, features: &[f64], from: f64, to: f64, into: &mut Vec<f64>) {
    let length = to - from;
    let samples = ((4.0 * length / wish.finest).ceil() as usize).clamp(8, 40_000);
    let step = length / samples as f64;
    let mut sums = Vec::with_capacity(samples + 1);
    sums.push(0.0);
    let mut sum = 0.0;
    for s in 0..samples {
        sum += step / pitch(wish, features, from + (s as f64 + 0.5) * step);
        sums.push(sum);
    }
    let cells = (sum - 0.1).ceil().max(1.0);
    for cell in 1..cells as usize {
        let goal = sum * cell as f64 / cells;
        let s = sums.partition_point(|&v| v < goal).clamp(1, samples);
        let (low, high) = (sums[s - 1], sums[s]);
        let x = from + step * ((s - 1) as f64 + (goal - low) / (high - low));
        let x = x.round();
        if into.last().is_none_or(|last| x > *last) && x < to {
            into.push(x);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_hold_anchors_and_grow_smoothly() {
        let wish = LineWish {
            extent: (0.0, 60e6),
            anchors: vec![9.5e6, 12.5e6, 12.52e6],
            features: vec![9.5e6, 12.5e6],
            finest: 1e5,
            widest: 5e5,
            growth: 0.25,
        };
        let l = lines(&wish);
        assert!(l.contains(&9.5e6) && l.contains(&12.5e6) && !l.contains(&12.52e6));
        assert_eq!((l[0], l[l.len() - 1]), (0.0, 60e6));
        let sizes: Vec<f64> = l.windows(2).map(|w| w[1] - w[0]).collect();
        assert!(sizes.iter().all(|s| *s > 0.0 && *s < 5.3e5));
        for pair in sizes.windows(2) {
            assert!((pair[1] / pair[0]).max(pair[0] / pair[1]) < 1.45, "{pair:?}");
        }
        let finest = sizes.iter().copied().fold(f64::INFINITY, f64::min);
        assert!(finest > 0.7e5 && finest < 1.3e5, "{finest}");
    }

    #[test]
    fn mirrored_wishes_give_mirrored_lines() {
        let wish = LineWish {
            extent: (0.0, 30e6),
            anchors: vec![4e6, 7e6],
            features: vec![4e6, 7e6],
            finest: 2e5,
            widest: 5e5,
            growth: 0.25,
        };
        let mirrored = LineWish { anchors: vec![26e6, 23e6], features: vec![26e6, 23e6], ..wish.clone() };
        let back: Vec<f64> = lines(&mirrored).iter().rev().map(|x| 30e6 - x).collect();
        for (a, b) in lines(&wish).iter().zip(&back) {
            assert!((a - b).abs() <= 1.0, "{a} {b}");
        }
    }
}
