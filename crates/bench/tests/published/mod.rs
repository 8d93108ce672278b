//! The nonlinear regression problems of the Statistical Reference Datasets (NIST): reading their files, and their models with
//! exact derivatives.
#![allow(dead_code, reason = "each of the programs that share this uses a part")]

use std::ops::{Add, Div, Mul, Neg, Sub};
use std::path::PathBuf;

use bench::least_squares::Linearised;
use nalgebra::DMatrix;

/// Most unknowns of a problem.
const MOST: usize = 9;

/// A value with its derivatives by the unknowns.
#[derive(Debug, Clone, Copy)]
pub struct Dual {
    value: f64,
    slope: [f64; MOST],
}

impl Dual {
    fn constant(value: f64) -> Self {
        Self { value, slope: [0.0; MOST] }
    }

    fn unknown(value: f64, number: usize) -> Self {
        let mut dual = Self::constant(value);
        dual.slope[number] = 1.0;
        dual
    }

    fn chain(self, value: f64, slope: f64) -> Self {
        Self { value, slope: self.slope.map(|s| s * slope) }
    }

    fn exp(self) -> Self {
        self.chain(self.value.exp(), self.value.exp())
    }

    fn cos(self) -> Self {
        self.chain(self.value.cos(), -self.value.sin())
    }

    fn sin(self) -> Self {
        self.chain(self.value.sin(), self.value.cos())
    }

    fn atan(self) -> Self {
        self.chain(self.value.atan(), 1.0 / (1.0 + self.value * self.value))
    }

    fn ln(self) -> Self {
        self.chain(self.value.ln(), 1.0 / self.value)
    }

    fn power(self, exponent: Self) -> Self {
        (self.ln() * exponent).exp()
    }

    fn squared(self) -> Self {
        self * self
    }
}

impl From<f64> for Dual {
    fn from(value: f64) -> Self {
        Self::constant(value)
    }
}

fn joined(a: Dual, b: Dual, value: f64, by_a: f64, by_b: f64) -> Dual {
    let slope = std::array::from_fn(|i| a.slope[i] * by_a + b.slope[i] * by_b);
    Dual { value, slope }
}

impl<T: Into<Self>> Add<T> for Dual {
    type Output = Self;
    fn add(self, other: T) -> Self {
        let other = other.into();
        joined(self, other, self.value + other.value, 1.0, 1.0)
    }
}

impl<T: Into<Self>> Sub<T> for Dual {
    type Output = Self;
    fn sub(self, other: T) -> Self {
        let other = other.into();
        joined(self, other, self.value - other.value, 1.0, -1.0)
    }
}

impl<T: Into<Self>> Mul<T> for Dual {
    type Output = Self;
    fn mul(self, other: T) -> Self {
        let other = other.into();
        joined(self, other, self.value * other.value, other.value, self.value)
    }
}

impl<T: Into<Self>> Div<T> for Dual {
    type Output = Self;
    fn div(self, other: T) -> Self {
        let other = other.into();
        let quotient = self.value / other.value;
        joined(self, other, quotient, 1.0 / other.value, -quotient / other.value)
    }
}

impl Neg for Dual {
    type Output = Self;
    fn neg(self) -> Self {
        self.chain(-self.value, -1.0)
    }
}

type Model = fn(&[Dual], &[f64]) -> Dual;

fn gauss(b: &[Dual], x: f64) -> Dual {
    let hill =
        |height: Dual, place: Dual, width: Dual| height * (-((-place + x).squared() / width.squared())).exp();
    b[0] * (-b[1] * x).exp() + hill(b[2], b[3], b[4]) + hill(b[5], b[6], b[7])
}

fn cubic_ratio(b: &[Dual], x: f64) -> Dual {
    (b[0] + b[1] * x + b[2] * (x * x) + b[3] * (x * x * x))
        / (b[4] * x + b[5] * (x * x) + b[6] * (x * x * x) + 1.0)
}

fn waves(b: &[Dual], x: f64) -> Dual {
    let turn = 2.0 * std::f64::consts::PI * x;
    let year = turn / 12.0;
    let angle = |period: Dual| Dual::constant(turn) / period;
    b[0] + b[1] * year.cos()
        + b[2] * year.sin()
        + b[4] * angle(b[3]).cos()
        + b[5] * angle(b[3]).sin()
        + b[7] * angle(b[6]).cos()
        + b[8] * angle(b[6]).sin()
}

/// The model of each problem, as its file writes it.
fn model(name: &str) -> Model {
    match name {
        "Misra1a" | "BoxBOD" => |b, x| b[0] * (-(-b[1] * x[0]).exp() + 1.0),
        "Misra1b" => |b, x| b[0] * (-(Dual::constant(1.0) / (b[1] * (x[0] / 2.0) + 1.0).squared()) + 1.0),
        "Misra1c" => |b, x| b[0] * (-(b[1] * (2.0 * x[0]) + 1.0).power((-0.5).into()) + 1.0),
        "Misra1d" => |b, x| b[0] * b[1] * x[0] / (b[1] * x[0] + 1.0),
        "Chwirut1" | "Chwirut2" => |b, x| (-b[0] * x[0]).exp() / (b[1] + b[2] * x[0]),
        "Lanczos1" | "Lanczos2" | "Lanczos3" => {
            |b, x| b[0] * (-b[1] * x[0]).exp() + b[2] * (-b[3] * x[0]).exp() + b[4] * (-b[5] * x[0]).exp()
        }
        "Gauss1" | "Gauss2" | "Gauss3" => |b, x| gauss(b, x[0]),
        "DanWood" => |b, x| b[0] * Dual::constant(x[0]).power(b[1]),
        "Kirby2" => {
            |b, x| (b[0] + b[1] * x[0] + b[2] * (x[0] * x[0])) / (b[3] * x[0] + b[4] * (x[0] * x[0]) + 1.0)
        }
        "Hahn1" | "Thurber" => |b, x| cubic_ratio(b, x[0]),
        "Nelson" => |b, x| b[0] - b[1] * x[0] * (-b[2] * x[1]).exp(),
        "MGH17" => |b, x| b[0] + b[1] * (-b[3] * x[0]).exp() + b[2] * (-b[4] * x[0]).exp(),
        "Roszman1" => |b, x| b[0] - b[1] * x[0] - (b[2] / (-b[3] + x[0])).atan() / std::f64::consts::PI,
        "ENSO" => |b, x| waves(b, x[0]),
        "MGH09" => |b, x| b[0] * (b[1] * x[0] + x[0] * x[0]) / (b[2] * x[0] + b[3] + x[0] * x[0]),
        "Rat42" => |b, x| b[0] / ((b[1] - b[2] * x[0]).exp() + 1.0),
        "MGH10" => |b, x| b[0] * (b[1] / (b[2] + x[0])).exp(),
        "Eckerle4" => |b, x| (b[0] / b[1]) * (((-b[2] + x[0]) / b[1]).squared() * -0.5).exp(),
        "Rat43" => |b, x| b[0] / ((b[1] - b[2] * x[0]).exp() + 1.0).power(Dual::constant(1.0) / b[3]),
        "Bennett5" => |b, x| b[0] * (b[1] + x[0]).power(Dual::constant(-1.0) / b[2]),
        other => panic!("no model for {other}"),
    }
}

/// All problems: lower, average and higher difficulty.
pub const NAMES: [&str; 27] = [
    "Misra1a", "Chwirut2", "Chwirut1", "Lanczos3", "Gauss1", "Gauss2", "DanWood", "Misra1b", "Kirby2",
    "Hahn1", "Nelson", "MGH17", "Lanczos1", "Lanczos2", "Gauss3", "Misra1c", "Misra1d", "Roszman1", "ENSO",
    "MGH09", "Thurber", "BoxBOD", "Rat42", "MGH10", "Eckerle4", "Rat43", "Bennett5",
];

/// A problem as its file has it.
pub struct Published {
    pub name: String,
    pub starts: [Vec<f64>; 2],
    pub certified: Vec<f64>,
    pub deviations: Vec<f64>,
    pub square: f64,
    pub response: Vec<f64>,
    pub predictors: Vec<Vec<f64>>,
}

impl Published {
    /// Residuals divided by `deviation`, and their derivatives; `None` where they are not finite.
    pub fn linearised(&self, b: &[f64], deviation: f64) -> Option<Linearised> {
        let duals: Vec<Dual> = b.iter().enumerate().map(|(j, value)| Dual::unknown(*value, j)).collect();
        let model = model(&self.name);
        let at: Vec<Dual> = self.predictors.iter().map(|x| model(&duals, x)).collect();
        let finite = at.iter().all(|d| d.value.is_finite() && d.slope.iter().all(|s| s.is_finite()));
        let residuals = at.iter().zip(&self.response).map(|(d, y)| (d.value - y) / deviation).collect();
        let jacobian = DMatrix::from_fn(at.len(), b.len(), |i, j| at[i].slope[j] / deviation);
        finite.then_some(Linearised { residuals, jacobian })
    }
}

fn numbers(line: &str) -> Vec<f64> {
    line.split_whitespace().filter_map(|word| word.parse().ok()).collect()
}

/// Reads a problem's file.
pub fn published(name: &str) -> Published {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../checks/fetched/lmfit-1.3.4/NIST_STRD");
    let path = folder.join(format!("{name}.dat"));
    let text = std::fs::read_to_string(&path)
        .unwrap_or_else(|error| panic!("{}: {error}; run checks/set-up first", path.display()));
    let lines: Vec<&str> = text.lines().collect();
    let unknowns: Vec<Vec<f64>> = lines
        .iter()
        .filter(|line| line.trim_start().starts_with('b') && line.contains('='))
        .filter_map(|line| Some(numbers(line.split_once('=')?.1)))
        .filter(|row| row.len() == 4)
        .collect();
    let square =
        lines.iter().find(|line| line.starts_with("Residual Sum of Squares")).map(|line| numbers(line)[0]);
    let begin = lines.iter().rposition(|line| line.starts_with("Data:")).expect("a table of data");
    let rows: Vec<Vec<f64>> =
        lines[begin + 1..].iter().map(|line| numbers(line)).filter(|r| r.len() > 1).collect();
    let column = |k: usize| unknowns.iter().map(|row| row[k]).collect::<Vec<f64>>();
    let logarithm = name == "Nelson";
    Published {
        name: name.to_owned(),
        starts: [column(0), column(1)],
        certified: column(2),
        deviations: column(3),
        square: square.expect("a sum of squares"),
        response: rows.iter().map(|row| if logarithm { row[0].ln() } else { row[0] }).collect(),
        predictors: rows.iter().map(|row| row[1..].to_vec()).collect(),
    }
}

/// Digits that two numbers have in common, at most 11 as the certified values are printed with.
pub fn digits(found: f64, certified: f64) -> f64 {
    let off = ((found - certified) / certified).abs();
    if off > 0.0 { (-off.log10()).min(11.0) } else { 11.0 }
}
