//! Current in thin sheets against dense elimination, resistors by hand and itself.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // a test's helpers may fail loudly

use conduction::{Foil, FoilField, FoilSheet, FoilSolver, GridError, SolveError, SolveOptions, on_threads};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;

/// A sheet that owns its conductances.
#[derive(Debug, Clone)]
struct Sheet {
    first: [usize; 2],
    nx: usize,
    ny: usize,
    odd: bool,
    gx: Vec<f32>,
    gy: Vec<f32>,
}

impl Sheet {
    /// Conductances by place: `g` of the pixels on both sides, 0 where one of them is bare.
    fn of(nx: usize, ny: usize, copper: impl Fn(usize, usize) -> bool) -> Self {
        let side = |a: bool, b: bool| if a && b { 1.0 } else { 0.0 };
        let (mut gx, mut gy) = (vec![0.0; nx * ny], vec![0.0; nx * ny]);
        for j in 0..ny {
            for i in 0..nx {
                let here = copper(i, j);
                gx[j * nx + i] = side(here, i + 1 < nx && copper(i + 1, j));
                gy[j * nx + i] = side(here, j + 1 < ny && copper(i, j + 1));
            }
        }
        Self { first: [0, 0], nx, ny, odd: false, gx, gy }
    }

    fn view(&self) -> FoilSheet<'_> {
        let Self { first, nx, ny, odd, gx, gy } = self;
        FoilSheet { first: *first, nx: *nx, ny: *ny, odd: *odd, gx, gy }
    }
}

fn solve(foil: &Foil<'_>, sources: &[(usize, f64)], tolerance: f64) -> Result<FoilField, SolveError> {
    let options =
        SolveOptions { relative_residual: tolerance, max_iterations: 200, ..SolveOptions::default() };
    FoilSolver::new(foil).expect("a sound foil").solve(sources, &options)
}

/// The field by dense elimination; cells that nothing touches are tied to 0.
fn dense(foil: &Foil<'_>, sources: &[(usize, f64)]) -> DVector<f64> {
    let cells = foil.sheets.iter().map(|s| s.nx * s.ny).sum();
    let mut a = DMatrix::<f64>::zeros(cells, cells);
    let mut join = |p: usize, q: usize, g: f32| {
        let g = f64::from(g);
        a[(p, p)] += g;
        a[(q, q)] += g;
        a[(p, q)] -= g;
        a[(q, p)] -= g;
    };
    let mut base = 0;
    for sheet in &foil.sheets {
        for c in 0..sheet.nx * sheet.ny {
            if sheet.gx[c] > 0.0 {
                join(base + c, base + c + 1, sheet.gx[c]);
            }
            if sheet.gy[c] > 0.0 {
                join(base + c, base + c + sheet.nx, sheet.gy[c]);
            }
        }
        base += sheet.nx * sheet.ny;
    }
    foil.links.iter().for_each(|(p, q, g)| join(*p, *q, *g));
    foil.ground.iter().for_each(|(p, g)| a[(*p, *p)] += f64::from(*g));
    let mut b = DVector::<f64>::zeros(cells);
    sources.iter().for_each(|(p, ampere)| b[*p] += ampere);
    for p in 0..cells {
        if foil.held.contains(&p) || a[(p, p)] == 0.0 {
            a.row_mut(p).fill(0.0);
            a.column_mut(p).fill(0.0);
            a[(p, p)] = 1.0;
            b[p] = 0.0;
        }
    }
    a.lu().solve(&b).expect("not singular")
}

/// Two or three sheets at odd places whose shapes come from numbers, linked where both have copper.
fn sheets() -> impl Strategy<Value = Vec<Sheet>> {
    let sheet = (0usize..4, 0usize..4, 3usize..12, 3usize..12, prop::collection::vec(0.02f32..3.0, 288));
    prop::collection::vec(sheet, 1..4).prop_map(|all| {
        let one = |(number, (i0, j0, nx, ny, values)): (usize, (usize, usize, usize, usize, Vec<f32>))| {
            let mut sheet = Sheet::of(nx, ny, |_, _| true);
            sheet.first = [i0, j0];
            // Third sheets have the colour of the first, so that links between them need points in between.
            sheet.odd = number == 1;
            let (gx, gy) = (&mut sheet.gx, &mut sheet.gy);
            for (g, value) in gx.iter_mut().chain(gy).zip(&values) {
                // A good part of the sides is closed.
                *g *= if *value < 0.6 { 0.0 } else { *value * *value };
            }
            sheet
        };
        all.into_iter().enumerate().map(one).collect()
    })
}

fn links(sheets: &[Sheet], g: f32) -> Vec<(usize, usize, f32)> {
    let base = |number: usize| sheets[..number].iter().map(|s| s.nx * s.ny).sum::<usize>();
    let cell = |number: usize, i: usize, j: usize| {
        let s = &sheets[number];
        let (i, j) = (i.checked_sub(s.first[0])?, j.checked_sub(s.first[1])?);
        (i < s.nx && j < s.ny).then(|| base(number) + j * s.nx + i)
    };
    let mut links = Vec::new();
    for number in 0..sheets.len() {
        for other in number + 1..sheets.len() {
            for place in 0..15 {
                if let (Some(a), Some(b)) = (cell(number, place, place), cell(other, place, place)) {
                    links.push((a, b, g));
                }
            }
        }
    }
    links
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_foil_has_the_field_of_dense_elimination(
        sheets in sheets(),
        g in prop::sample::select(vec![0.01f32, 0.3, 30.0]),
        held in any::<bool>(),
        at in prop::collection::vec((0usize..400, -1.0f64..1.0), 1..5),
    ) {
        let cells: usize = sheets.iter().map(|s| s.nx * s.ny).sum();
        // Every cell has a weak way to 0 V, so that nothing floats.
        let ground = (0..cells).map(|cell| (cell, 1e-3)).collect();
        let held = if held { vec![0, cells / 2] } else { Vec::new() };
        let views = sheets.iter().map(Sheet::view).collect();
        let foil = Foil { sheets: views, links: links(&sheets, g), ground, held };
        let sources: Vec<(usize, f64)> = at.into_iter().map(|(cell, ampere)| (cell % cells, ampere)).collect();
        let exact = dense(&foil, &sources);
        let field = solve(&foil, &sources, 1e-10).unwrap();
        let largest = exact.amax().max(1e-9);
        for (cell, found) in field.potential_v.iter().enumerate() {
            // The residual of 1e-10 against the least conductance to 0 V, 1e-3 of the others.
            prop_assert!((found - exact[cell]).abs() <= 1e-6 * largest, "{cell}: {found} against {}", exact[cell]);
        }
    }
}

#[test]
fn a_strip_is_its_resistors_in_series() {
    // Twelve pixels in a row, then 0.5 S to another sheet and six back, the last held: 11 + 2 + 5 ohm at 1 A.
    let long = Sheet::of(12, 1, |_, _| true);
    let mut short = Sheet::of(6, 1, |_, _| true);
    short.first = [6, 0];
    for odd in [false, true] {
        short.odd = odd;
        let views = vec![long.view(), short.view()];
        let foil = Foil { sheets: views, links: vec![(11, 17, 0.5)], held: vec![12], ..Foil::default() };
        let field = solve(&foil, &[(0, 1.0)], 1e-10).unwrap();
        let expected = |cell: usize| if cell < 12 { 18.0 - cell as f64 } else { cell as f64 - 12.0 };
        for (cell, found) in field.potential_v.iter().enumerate() {
            assert!((found - expected(cell)).abs() < 1e-8, "{cell}: {found}");
        }
    }
}

/// A track that winds to and fro, `wide` pixels wide with gaps of one.
fn winding(wide: usize, turns: usize, long: usize) -> Sheet {
    let pitch = wide + 1;
    Sheet::of(long, turns * pitch, |i, j| {
        let (turn, across) = (j / pitch, j % pitch);
        let end = if turn % 2 == 0 { i + wide >= long } else { i < wide };
        across < wide || (end && turn + 1 < turns)
    })
}

#[test]
fn iterations_do_not_grow_with_the_sheet() {
    let end = |sheet: &Sheet| sheet.nx * (sheet.ny - 2);
    let count = |sheet: &Sheet| {
        let foil = Foil { sheets: vec![sheet.view()], held: vec![0], ..Foil::default() };
        solve(&foil, &[(end(sheet), 1.0)], 1e-6).unwrap().iterations
    };
    // Even a track that winds closely, where no coarse grid without regard for gaps would do.
    let few = count(&winding(7, 6, 120));
    let many = count(&winding(7, 48, 960));
    assert!(few <= 20 && many <= few + 10, "{few} and {many} iterations");
    let small = count(&Sheet::of(100, 100, |_, _| true));
    let large = count(&Sheet::of(800, 800, |_, _| true));
    assert!(small <= 15 && large <= small + 6, "{small} and {large} iterations");
}

#[test]
fn the_number_of_threads_changes_no_bit() {
    let sheet = Sheet::of(400, 300, |i, j| (i / 37 + j / 29) % 3 > 0 || i % 37 < 20);
    let foil = Foil { sheets: vec![sheet.view()], held: vec![0], ..Foil::default() };
    let on =
        |threads: usize| on_threads(threads, || solve(&foil, &[(150 * 400 + 385, 1.0), (7, -0.3)], 1e-8));
    let one = on(1).unwrap();
    for threads in [2, 3, 7] {
        let other = on(threads).unwrap();
        assert_eq!(one.iterations, other.iterations);
        let same = one.potential_v.iter().zip(&other.potential_v).all(|(a, b)| a.to_bits() == b.to_bits());
        assert!(same, "{threads} threads give other bits");
    }
}

#[test]
fn current_that_needs_no_iteration_is_settled() {
    // Into a held cell, and into a lone black pixel with 0.5 S to 0 V.
    let sheet = Sheet::of(4, 1, |i, _| i < 2);
    let foil = Foil { sheets: vec![sheet.view()], ground: vec![(3, 0.5)], held: vec![0], ..Foil::default() };
    let field = solve(&foil, &[(0, 1.0), (3, 1.0)], 1e-10).unwrap();
    assert_eq!((field.iterations, field.potential_v), (0, vec![0.0, 0.0, 0.0, 2.0]));
}

#[test]
fn what_has_no_way_out_is_told() {
    let sheet = Sheet::of(9, 4, |i, _| i != 4);
    let foil = Foil { sheets: vec![sheet.view()], held: vec![0], ..Foil::default() };
    assert!(matches!(solve(&foil, &[(8, 1.0)], 1e-6), Err(SolveError::Floating { .. })));
    assert!(matches!(solve(&foil, &[(4, 1.0)], 1e-6), Err(SolveError::Floating { .. })));
    let without = Foil { sheets: vec![sheet.view()], ..Foil::default() };
    assert!(matches!(solve(&without, &[(8, 1.0)], 1e-6), Err(SolveError::Floating { .. })));
    assert!(matches!(solve(&foil, &[(3, f64::NAN)], 1e-6), Err(SolveError::NotFinite)));
    let mut unsound = sheet.clone();
    unsound.gx[8] = 1.0;
    assert!(FoilSolver::new(&Foil { sheets: vec![unsound.view()], ..Foil::default() }).is_err());
}

#[test]
fn what_is_no_foil_is_refused_with_its_place() {
    // Wide enough that faults lie in the first piece that is looked at and in a later one.
    let (nx, ny) = (200, 150);
    let sound = Sheet::of(nx, ny, |_, _| true);
    type Change<'a> = &'a dyn Fn(&mut Sheet, &mut Foil<'_>);
    let refused = |change: Change<'_>| -> Option<GridError> {
        let mut sheet = sound.clone();
        let mut others = Foil { held: vec![0], ..Foil::default() };
        change(&mut sheet, &mut others);
        FoilSolver::new(&Foil { sheets: vec![sheet.view()], ..others }).err()
    };
    assert!(refused(&|_, _| ()).is_none());
    let last = nx * ny - 1;
    for value in [-1e-6, f32::NAN, f32::INFINITY] {
        for at in [0, 77, 16_383, 16_384, 20_000] {
            let along_x = refused(&|sheet, _| sheet.gx[at] = value);
            assert!(
                matches!(along_x, Some(GridError::OutOfRange { what: "conductances along x", at: told }) if told == at),
                "{value} at {at}: {along_x:?}"
            );
            let along_y = refused(&|sheet, _| sheet.gy[at] = value);
            assert!(
                matches!(along_y, Some(GridError::OutOfRange { what: "conductances along y", at: told }) if told == at),
                "{value} at {at}: {along_y:?}"
            );
        }
        let link = refused(&|_, foil| foil.links.push((1, 2, value)));
        assert!(matches!(link, Some(GridError::OutOfRange { what: "link", at: 0 })), "{value}: {link:?}");
        let ground = refused(&|_, foil| foil.ground.push((1, value)));
        assert!(
            matches!(ground, Some(GridError::OutOfRange { what: "ground", at: 0 })),
            "{value}: {ground:?}"
        );
    }
    let what = |change: Change<'_>| match refused(change) {
        Some(GridError::OutOfRange { what, .. } | GridError::WrongLength { what, .. }) => what,
        other => panic!("{other:?}"),
    };
    assert_eq!(what(&|sheet, _| sheet.gx.truncate(last)), "conductances along x");
    assert_eq!(what(&|sheet, _| sheet.gy.push(0.0)), "conductances along y");
    assert_eq!(what(&|sheet, _| sheet.gx[nx - 1] = 1.0), "conductance beyond the last column");
    assert_eq!(what(&|sheet, _| sheet.gy[last] = 1.0), "conductance beyond the last row");
    assert_eq!(what(&|_, foil| foil.links.push((3, 3, 1.0))), "link");
    assert_eq!(what(&|_, foil| foil.links.push((3, last + 1, 1.0))), "link");
    assert_eq!(what(&|_, foil| foil.links.push((3, 4, 0.0))), "link");
    assert_eq!(what(&|_, foil| foil.ground.push((last + 1, 1.0))), "ground");
    assert_eq!(what(&|_, foil| foil.held.push(last + 1)), "held cell");
}
