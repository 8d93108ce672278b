//! The likeliest place of a function and how fast it falls off there.

use nalgebra::{DMatrix, Matrix3};

use super::MOST_TIME_CONSTANTS;

/// A place among logarithms of time constants; unused ones stay 0.
pub type Place = [f64; MOST_TIME_CONSTANTS];

/// Climbs from `start` to a highest place of `f` in the first `dimensions` coordinates, by the simplex of Nelder and Mead, Computer
/// J. 7 (1965) 308.
pub fn climb(f: &dyn Fn(&Place) -> f64, start: Place, dimensions: usize, step: f64) -> (Place, f64) {
    let mut corners: Vec<(Place, f64)> = (0..=dimensions)
        .map(|corner| {
            let mut place = start;
            if corner > 0 {
                place[corner - 1] += step;
            }
            (place, f(&place))
        })
        .collect();
    for _ in 0..60 * dimensions {
        corners.sort_by(|a, b| b.1.total_cmp(&a.1));
        let (best, worst) = (corners[0], corners[dimensions]);
        let size = (0..dimensions).map(|d| (best.0[d] - worst.0[d]).abs()).fold(0.0, f64::max);
        if best.1 - worst.1 < 0.01 && size < 0.3 {
            break;
        }
        let mut middle = [0.0; MOST_TIME_CONSTANTS];
        for (place, _) in &corners[..dimensions] {
            for d in 0..dimensions {
                middle[d] += place[d] / dimensions as f64;
            }
        }
        let along = |part: f64| {
            let mut place = middle;
            for d in 0..dimensions {
                place[d] += part * (worst.0[d] - middle[d]);
            }
            (place, f(&place))
        };
        let mirrored = along(-1.0);
        let next = if mirrored.1 > best.1 {
            let far = along(-2.0);
            if far.1 > mirrored.1 { far } else { mirrored }
        } else if mirrored.1 > corners[dimensions - 1].1 {
            mirrored
        } else {
            let near = if mirrored.1 > worst.1 { along(-0.5) } else { along(0.5) };
            if near.1 <= worst.1.max(mirrored.1) {
                for corner in corners.iter_mut().skip(1) {
                    for d in 0..dimensions {
                        corner.0[d] = 0.5 * (corner.0[d] + best.0[d]);
                    }
                    corner.1 = f(&corner.0);
                }
                continue;
            }
            near
        };
        corners[dimensions] = next;
    }
    corners.sort_by(|a, b| b.1.total_cmp(&a.1));
    corners[0]
}

/// The root of the covariance of the normal curve that falls off from `top` as `f` does: columns are independent steps.
pub fn spread(f: &dyn Fn(&Place) -> f64, top: &Place, height: f64, dimensions: usize) -> Matrix3<f64> {
    let moved = |steps: &[(usize, f64)]| {
        let mut place = *top;
        for (d, by) in steps {
            place[*d] += by;
        }
        f(&place)
    };
    // Steps at which f falls by about one half: there differences are well above rounding and below the far tails.
    let mut steps = [0.01; MOST_TIME_CONSTANTS];
    for (d, step) in steps.iter_mut().enumerate().take(dimensions) {
        for _ in 0..24 {
            let fall = height - moved(&[(d, *step)]).max(moved(&[(d, -*step)]));
            if fall > 2.0 {
                *step *= 0.5;
            } else if fall < 0.1 && *step < 1.0 {
                *step *= 2.0;
            } else {
                break;
            }
        }
    }
    let mut curvature = DMatrix::<f64>::zeros(dimensions, dimensions);
    let along = |d: usize| {
        let falls = [1.0, -1.0].map(|way| height - moved(&[(d, way * steps[d])]));
        // Beyond an edge there is nothing; the other side tells.
        let known: Vec<f64> = falls.into_iter().filter(|fall| fall.is_finite()).collect();
        if known.is_empty() { 1.0 } else { 2.0 * known.iter().sum::<f64>() / known.len() as f64 }
    };
    for d in 0..dimensions {
        curvature[(d, d)] = along(d).max(0.02);
    }
    for a in 0..dimensions {
        for b in 0..a {
            let at = |i: f64, j: f64| moved(&[(a, i * steps[a]), (b, j * steps[b])]);
            let pair = at(1.0, 1.0) - at(1.0, -1.0) - at(-1.0, 1.0) + at(-1.0, -1.0);
            if pair.is_finite() {
                curvature[(a, b)] = -0.25 * pair;
                curvature[(b, a)] = -0.25 * pair;
            }
        }
    }
    let eigen = curvature.symmetric_eigen();
    let mut root = Matrix3::<f64>::identity();
    for d in 0..dimensions {
        for k in 0..dimensions {
            // In units of the steps a curvature below 0.02 is flat, one of some thousands as narrow as it gets.
            let deviation = 1.0 / eigen.eigenvalues[k].clamp(0.02, 1e6).sqrt();
            root[(d, k)] = steps[d] * eigen.eigenvectors[(d, k)] * deviation;
        }
    }
    root
}
