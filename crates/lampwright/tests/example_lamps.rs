//! What holds for every example lamp: the demo's two variants and the lamps in examples/.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

mod examples;

use examples::{each, model_and_run, run};
use lamp::as_built::{LayerKind, StackLayer};
use lamp::findings::{Run, RunState};
use lamp::model::CopperMap;

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
        // patches and copper bring heat of their own.
        let patches: f64 = run.heat_patches.iter().map(|patch| patch.heat_w).sum();
        let copper = run.copper.as_ref().map_or(0.0, |copper| copper.loss_w);
        assert!(
            (run.electrical_w + patches + copper - run.heat_w - run.radiant_w).abs() < 2e-5 * run.heat_w,
            "{}",
            lamp.name
        );
    });
}

/// What drivers give is what emitters, copper and leads take: to what the drops between lands, as means, leave of the loss in
/// the copper (two thousandths), and less where branches share a current.
#[test]
fn drivers_give_what_emitters_copper_and_leads_take() {
    let mut strings = 0;
    each(|lamp, variant| {
        let run = run(lamp, variant, lamp.nominal_current_a);
        let Some(copper) = &run.copper else { return };
        let taken_w = run.electrical_w + copper.loss_w + copper.leads_w;
        let drivers_w = copper.drivers_w.unwrap();
        let leaves_w = if run.sharing.is_some() { 1e-7 * taken_w } else { 2e-3 * copper.loss_w };
        assert!((drivers_w - taken_w).abs() <= leaves_w, "{}: {drivers_w} {taken_w}", lamp.name);
        let by_supply: f64 = copper.supplies.iter().map(|s| s.current_a * s.driver_v.unwrap()).sum();
        assert!((by_supply - drivers_w).abs() <= 1e-9 * drivers_w);
        assert!(copper.leads_w > 0.0 && copper.loss_w > 0.0);
        strings += copper.strings.len();
    });
    assert!(strings >= 6, "the demo's two boards and the two strings on one driver");
}

/// Joule's and Kirchhoff's laws over the copper of every lamp whose strings are traced; the maps show all of the loss.
#[test]
fn copper_loses_what_strings_pieces_and_maps_lose() {
    let mut traced = 0;
    each(|lamp, variant| {
        let (model, run) = model_and_run(lamp, variant, lamp.nominal_current_a);
        let Some(copper) = &run.copper else { return };
        traced += 1;
        let name = format!("{} {}", lamp.name, run.variant);
        let near = |found: f64, tolerance: f64, what: &str| {
            assert!(
                (found / copper.loss_w - 1.0).abs() < tolerance,
                "{name}: {what} {found}, {}",
                copper.loss_w
            );
        };
        // Pixels count single-precision losses: a ten-millionth each.
        let of_map = |map: CopperMap| {
            let point_cm2 = (0.1 * map.pitch_mm).powi(2);
            let sum: f64 = map.loss_w_per_cm2.iter().filter(|w| !w.is_nan()).map(|w| f64::from(*w)).sum();
            sum * point_cm2
        };
        let layers = model.copper_layers().len();
        let maps: f64 = (0..layers).map(|layer| of_map(model.copper_map(layer).unwrap())).sum();
        near(maps + copper.barrels_w, 1e-6, "maps and plated holes");
        let islands: f64 = copper.islands.iter().map(|island| island.loss_w).sum();
        near(islands + copper.barrels_w, 1e-9, "pieces and plated holes");
        // Voltages are means over lands, and warm copper's factor is one for a whole string.
        let strings: f64 = copper.strings.iter().map(|string| string.copper_loss_w.unwrap()).sum();
        near(strings, 2e-3, "strings");
        let parts: f64 = copper.islands.iter().map(|island| island.part_of_electrical).sum();
        let all_w = run.electrical_w + copper.loss_w + copper.leads_w;
        near(parts * all_w + copper.barrels_w, 1e-9, "parts of the lamp");
        // No copper is hotter than the hottest, and none as hot as a junction.
        let hottest = copper.hottest.as_ref().unwrap();
        assert!(hottest.temperature_c < run.hottest_junction_c.unwrap(), "{name}: {hottest:?}");
        for neck in &copper.necks {
            let at = neck.temperature_c.unwrap();
            assert!(at > lamp.ambient_c && at <= hottest.temperature_c, "{name}: {neck:?}");
        }
    });
    assert!(traced >= 4, "{traced}");
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
            bond.conductivity_w_per_m_k = bond.conductivity_w_per_m_k.map(|k| k / 4.0);
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
