//! What holds for every example lamp: the demo's two variants and the sketches in examples/.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

use std::path::Path;
use std::sync::atomic::AtomicBool;

use lamp::as_built::{Face, Lamp, LayerKind, StackLayer};
use lamp::findings::{Run, RunState};
use lamp::model::{GridChoice, Model};
use lamp::project::{MemoryFolder, read};

/// A grid fine enough to be a lamp and coarse enough for many runs.
const COARSE: GridChoice = GridChoice { finest_pitch_m: Some(4e-4), cells_at_most: None };

fn examples() -> Vec<Lamp> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut lamps = vec![MemoryFolder::new(lampwright::demo::files())];
    let mut names: Vec<_> = std::fs::read_dir(folder).unwrap().flatten().map(|entry| entry.path()).collect();
    names.sort();
    for path in names {
        let text = std::fs::read(path.join("lamp.toml")).unwrap();
        lamps.push(MemoryFolder::new([("lamp.toml".to_owned(), text)]));
    }
    let lamps: Vec<Lamp> = lamps
        .iter()
        .map(|folder| {
            let reading = read(folder);
            assert!(!reading.has_errors(), "{:#?}", reading.remarks);
            reading.lamp.unwrap()
        })
        .collect();
    assert!(lamps.len() >= 4);
    lamps
}

fn run(lamp: &Lamp, variant: usize, current_a: f64) -> Run {
    let mut model = Model::new(lamp, &lamp.variants[variant], &COARSE, 1).unwrap();
    model.run(current_a, lamp.ambient_c, &AtomicBool::new(false)).unwrap()
}

fn each(mut check: impl FnMut(&Lamp, usize)) {
    for lamp in examples() {
        for variant in 0..lamp.variants.len() {
            check(&lamp, variant);
        }
    }
}

#[test]
fn heat_in_equals_heat_out() {
    each(|lamp, variant| {
        let run = run(lamp, variant, lamp.nominal_current_a);
        assert_eq!(run.state, RunState::Steady, "{}", lamp.name);
        let balance = run.energy_balance;
        assert!(balance.relative_error.abs() < 1e-6, "{}: {balance:?}", lamp.name);
        let out = balance.heatsink_w + balance.convection_w + balance.radiation_w;
        assert!((out / balance.in_w - 1.0).abs() < 1e-6, "{}: {balance:?}", lamp.name);
        // Electrical power is heat and radiation, to the tolerance at which the emitters' heats count as settled; only
        // patches bring heat of their own.
        let patches: f64 = run.heat_patches.iter().map(|patch| patch.heat_w).sum();
        assert!(
            (run.electrical_w + patches - run.heat_w - run.radiant_w).abs() < 2e-5 * run.heat_w,
            "{}",
            lamp.name
        );
    });
}

#[test]
fn the_heat_path_adds_up_to_the_rise() {
    each(|lamp, variant| {
        for emitter in run(lamp, variant, lamp.nominal_current_a).emitters {
            let sum: f64 = emitter.heat_path.iter().map(|step| step.drop_k).sum();
            let rise = emitter.junction_c.unwrap() - lamp.ambient_c;
            assert!((sum - rise).abs() < 1e-6 * rise, "{} {}: {sum} of {rise}", lamp.name, emitter.reference);
            assert!(
                emitter.heat_path.windows(2).all(|pair| pair[0].to == pair[1].from || !pair[0].to.is_empty())
            );
        }
    });
}

/// With faces and heats that do not depend on temperature, twice the heat is twice the rise.
#[test]
fn doubling_power_doubles_the_rise_when_linear() {
    let mut lamp = examples().into_iter().find(|lamp| lamp.name.starts_with("Strip")).unwrap();
    lamp.variants[0].top_face = Face::Film { h_w_per_m2_k: 10.0 };
    lamp.variants[0].bottom_face = Face::Film { h_w_per_m2_k: 10.0 };
    let once = run(&lamp, 0, 0.0);
    for patch in &mut lamp.variants[0].heat_patches {
        patch.heat_w *= 2.0;
    }
    let twice = run(&lamp, 0, 0.0);
    for (a, b) in once.heat_patches.iter().zip(&twice.heat_patches) {
        // The solver's tolerance.
        assert!((b.mean_rise_k / a.mean_rise_k - 2.0).abs() < 1e-4, "{} {}", a.mean_rise_k, b.mean_rise_k);
    }
}

/// Heat at one emitter's place warms another's as much as the other way round.
#[test]
fn swapping_source_and_probe_gives_the_same_rise() {
    let mut lamp = examples().into_iter().find(|lamp| lamp.name.starts_with("Strip")).unwrap();
    lamp.variants[0].top_face = Face::Film { h_w_per_m2_k: 10.0 };
    lamp.variants[0].bottom_face = Face::Adiabatic;
    let rise = |lamp: &mut Lamp, source: usize, probe: usize| {
        for (index, patch) in lamp.variants[0].heat_patches.iter_mut().enumerate() {
            patch.heat_w = if index == source { 1.0 } else { 0.0 };
        }
        run(lamp, 0, 0.0).heat_patches[probe].mean_rise_k
    };
    let (there, back) = (rise(&mut lamp, 0, 3), rise(&mut lamp, 3, 0));
    assert!((there / back - 1.0).abs() < 1e-3, "{there} {back}");
}

/// The demo's board is its own mirror image top to bottom, but for the sensor's traces: so are its temperatures.
#[test]
fn mirrored_board_gives_mirrored_field() {
    let lamp = examples().remove(0);
    for variant in 0..2 {
        let run = run(&lamp, variant, lamp.nominal_current_a);
        for column in 0..4 {
            let (upper, lower) =
                (run.emitters[column].junction_c.unwrap(), run.emitters[column + 4].junction_c.unwrap());
            assert!((upper - lower).abs() < 0.1, "{column}: {upper} {lower}");
        }
    }
}

#[test]
fn a_hotter_room_a_higher_current_and_a_worse_bond_are_hotter() {
    each(|lamp, variant| {
        let hottest = |run: &Run| run.hottest_board_c.unwrap();
        let first = run(lamp, variant, lamp.nominal_current_a);
        let mut warm = lamp.clone();
        warm.ambient_c += 10.0;
        let warmer = hottest(&run(&warm, variant, lamp.nominal_current_a)) - hottest(&first);
        assert!((5.0..12.0).contains(&warmer), "{}: {warmer}", lamp.name);
        if !first.emitters.is_empty() {
            assert!(
                hottest(&run(lamp, variant, 0.5 * lamp.nominal_current_a)) < hottest(&first),
                "{}",
                lamp.name
            );
        }
        if let Some(bond) = &mut warm.variants[variant].bond {
            bond.resistance_m2k_per_w *= 4.0;
            warm.ambient_c = lamp.ambient_c;
            assert!(hottest(&run(&warm, variant, lamp.nominal_current_a)) > hottest(&first), "{}", lamp.name);
        }
    });
}

/// A layer cut in two of half its thickness is the same board; only the grid differs, so the rises agree to the grid's own
/// printed error.
#[test]
fn splitting_a_layer_changes_nothing() {
    each(|lamp, variant| {
        let whole = run(lamp, variant, lamp.nominal_current_a);
        let mut cut = lamp.clone();
        let layers = &mut cut.variants[variant].layers;
        *layers = layers
            .iter()
            .flat_map(|layer| {
                if layer.kind == LayerKind::Copper {
                    return vec![layer.clone()];
                }
                let half = StackLayer { thickness_m: layer.thickness_m / 2.0, ..layer.clone() };
                vec![StackLayer { resistance_below_m2k_per_w: 0.0, ..half.clone() }, half]
            })
            .collect();
        let split = run(&cut, variant, lamp.nominal_current_a);
        let apart = (whole.hottest_board_c.unwrap() - split.hottest_board_c.unwrap()).abs();
        assert!(apart <= whole.grid_error_k.max(split.grid_error_k) + 0.05, "{}: {apart} K", lamp.name);
    });
}

#[test]
fn runs_repeat_to_the_bit() {
    each(|lamp, variant| {
        let (first, second) =
            (run(lamp, variant, lamp.nominal_current_a), run(lamp, variant, lamp.nominal_current_a));
        assert_eq!(
            first.hottest_board_c.map(f64::to_bits),
            second.hottest_board_c.map(f64::to_bits),
            "{}",
            lamp.name
        );
        assert_eq!(first.iterations, second.iterations);
    });
}
