//! Correlations of fires against published inputs and vectors.

use glowsill::world::conduction::Material;
use glowsill::world::fire::compartment::{mqh_flashover_kw, mqh_rise_k, thomas_flashover_kw};
use glowsill::world::fire::layer::{filling_height_m, gas_density_kg_m3};
use glowsill::world::fire::plume::{
    Plume, centreline_rise_k, entrained_kg_s, flame_height_m, mccaffrey_rise_k, virtual_origin_m,
};
use glowsill::world::fire::radiation::{
    flame_surface_kw_m2, layer_w_m2, point_source_kw_m2, pool_fire_kw_m2,
};
use glowsill::world::fire::{Compartment, Descent, Growth, Lining, Vent, Warning};

fn near(found: f64, expected: f64, share: f64) {
    assert!(
        (found / expected - 1.0).abs() <= share,
        "{found}, expected {expected}"
    );
}

const CONCRETE: Material = Material::new("concrete", 1.6, 2400.0, 750.0, "NRC worksheet 1805.0");

/// Room of the NRC worksheets: 4.572 m × 4.572 m × 3.048 m, opening 1.2192 m × 1.8288 m.
fn worksheet_room(material: Material, thickness_m: f64) -> Compartment {
    Compartment {
        length_m: 4.572,
        width_m: 4.572,
        height_m: 3.048,
        vents: vec![Vent {
            width_m: 1.2192,
            height_m: 1.8288,
            sill_m: 0.0,
        }],
        lining: Lining {
            material,
            thickness_m,
        },
    }
}

// Source: inputs of the NRC worksheet 1805.0 and of its revision 0 (seen); results calculated outside the
// project from the formula, the worksheets' own output cells were not seen.
#[test]
fn mqh_of_the_worksheet_rooms() {
    let room = worksheet_room(CONCRETE, 0.3048);
    near(room.vents[0].area_m2(), 2.22967, 1e-5);
    near(room.surface_m2(), 95.31852, 1e-6);
    for (t_s, coefficient, rises) in [
        (60.0, 0.219_089, [68.33, 108.47, 172.18]),
        (120.0, 0.154_919, [76.70, 121.75, 193.27]),
        (1800.0, 0.040_000, [120.45, 191.20, 303.51]),
    ] {
        for (kw, rise) in [250.0, 500.0, 1000.0].into_iter().zip(rises) {
            let found = room.layer_rise(kw, t_s);
            near(found.coefficient_kw_m2k, coefficient, 1e-5);
            near(found.rise_k, rise, 1e-4);
            assert!(found.warnings.is_empty(), "{:?}", found.warnings);
        }
    }
    let older = Material::new("concrete", 1.4, 2000.0, 880.0, "NRC worksheet, revision 0");
    let room = worksheet_room(older, 0.3048);
    for (kw, rise) in [(250.0, 76.36), (500.0, 121.22), (1000.0, 192.42)] {
        let found = room.layer_rise(kw, 100.0);
        near(found.coefficient_kw_m2k, 0.156_971, 1e-5);
        near(found.rise_k, rise, 1e-4);
    }
    let gypsum = Material::new("gypsum", 0.17, 960.0, 1100.0, "NUREG-1805");
    let room = worksheet_room(gypsum, 0.0159);
    near(room.lining.penetration_s(), 392.6, 1e-4);
    for (kw, rise) in [(250.0, 141.90), (500.0, 225.25), (1000.0, 357.57)] {
        let found = room.layer_rise(kw, 300.0);
        near(found.coefficient_kw_m2k, 0.024_462, 1e-4);
        near(found.rise_k, rise, 1e-4);
    }
}

// Source: test vectors of an open-source library of fire engineering after NUREG-1805 chapter 2 (seen).
#[test]
fn mqh_vectors() {
    let factor = 2.5 * 2f64.sqrt();
    for (kw, rise) in [
        (500.0, 205.341_061_6),
        (1000.0, 325.958_617_2),
        (1500.0, 427.126_620_4),
    ] {
        near(mqh_rise_k(kw, factor, 0.035, 75.0), rise, 1e-9);
    }
    let two = factor + 1.5;
    near(mqh_rise_k(1000.0, two, 0.035, 75.0), 289.711_428_4, 1e-9);
    let lining = |thickness_m: f64| Lining {
        material: Material::new("vector", 2.0, 2400.0, 1170.0, "library"),
        thickness_m,
    };
    near(lining(0.25).penetration_s(), 21_937.5, 1e-9);
    near(lining(0.25).coefficient_kw_m2k(1800.0), 0.055_856_96, 1e-6);
    // From the penetration time on, k/δ.
    near(lining(0.25).coefficient_kw_m2k(30_000.0), 0.008, 1e-12);
}

// Source: the same library (seen): MQH flashover with hₖ 0.01, A_T 10, A₀ 0.5, H₀ 1; Thomas with A_T 1,
// A₀ 2, H₀ 9.
#[test]
fn flashover_powers() {
    near(mqh_flashover_kw(0.5, 0.01, 10.0), 136.400_1, 1e-6);
    near(thomas_flashover_kw(6.0, 1.0), 2275.8, 1e-12);
}

// Source: the same library (seen) for the origin, the centreline and the corner of these relations;
// flame heights calculated outside the project.
#[test]
fn heskestad() {
    for (kw, diameter, flame) in [
        (100.0, 0.3, 1.1767),
        (250.0, 0.5, 1.6292),
        (500.0, 0.8, 2.0066),
        (1000.0, 1.0, 2.7045),
        (2000.0, 1.5, 3.3845),
    ] {
        // Printed to four places.
        assert!((flame_height_m(kw, diameter) - flame).abs() < 6e-5);
    }
    near(virtual_origin_m(750.0, 2.2), -0.487_058_0 * 2.2, 1e-6);
    // The source takes g = 9.8.
    near(
        centreline_rise_k(288.0, 1.2, 700.0, 2.25) * (9.81f64 / 9.8).cbrt(),
        507.462_391_9,
        1e-6,
    );
}

// Source: McCaffrey, NBSIR 79-1910, from memory, not seen: some 800 K to 900 K in the continuous flame,
// some 300 K to 350 K at z/Q^⅖ = 0.2; Heskestad's rise of 500 K marks the mean flame tip.
#[test]
fn plume_temperatures_are_those_of_flames() {
    let inside = mccaffrey_rise_k(293.0, 1000.0, 0.5);
    assert!((800.0..900.0).contains(&inside), "{inside}");
    let far = mccaffrey_rise_k(293.0, 1000.0, 0.2001 * 1000f64.powf(0.4));
    assert!((290.0..350.0).contains(&far), "{far}");
    let plume = Plume {
        power_kw: 1000.0,
        radiative_share: 0.3,
        diameter_m: 1.0,
        ambient_k: 293.15,
    };
    let (tip, warning) = plume.rise_k(plume.flame_m() * 1.0001);
    assert!(warning.is_none());
    assert!((450.0..560.0).contains(&tip), "{tip}");
    let (_, warning) = plume.rise_k(0.5 * plume.flame_m());
    assert!(matches!(warning, Some(Warning::InFlame { .. })));
    // Zukoski's constant in air of 20 °C: 0.076 kg s⁻¹ kW^(−⅓) m^(−5/3).
    near(
        entrained_kg_s(293.15, 1000.0, 2.0),
        0.076 * 10.0 * 2f64.powf(5.0 / 3.0),
        0.01,
    );
}

// Source: open-source library (seen) for the point source; Shokri and Beyler (seen) for pool fires,
// 15.4·4^(−1.59) by hand; the others by arithmetic.
#[test]
fn radiation_on_targets() {
    near(point_source_kw_m2(750.0, 0.3, 0.5, 2.5).0, 2.864_789, 1e-6);
    let (_, warning) = point_source_kw_m2(750.0, 0.3, 2.0, 2.5);
    assert!(matches!(warning, Some(Warning::NearFlame { .. })));
    near(pool_fire_kw_m2(4.0, 1.0), 1.699_2, 1e-3);
    let flame = flame_surface_kw_m2(1000.0, 0.3, 1.0, 2.7045, 0.1);
    near(flame, 0.1 * 300.0 / (std::f64::consts::PI * 2.9545), 1e-9);
    assert_eq!(flame_surface_kw_m2(1e5, 0.3, 1.0, 1.0, 1.0), 150.0);
    // A thick layer of 600 °C: 33 kW/m²; the 20 kW/m² said of flashover need 497.5 °C.
    near(layer_w_m2(770.65, 100.0, 2.0, 1.0), 20_000.0, 1e-4);
    near(
        layer_w_m2(873.15, 0.5, 1.0, 1.0),
        0.393_469 * 32_957.0,
        1e-4,
    );
}

// Source: growth times to 1055 kW of NFPA 204 (seen); power at 60 s calculated outside the project.
#[test]
fn growth_times() {
    for (alpha, seconds, at_60) in [
        (Growth::SLOW, 600.0, 10.5),
        (Growth::MEDIUM, 300.0, 42.2),
        (Growth::FAST, 150.0, 168.8),
        (Growth::ULTRAFAST, 75.0, 675.4),
    ] {
        let fire = Growth::new(alpha, 1e6);
        near(fire.kw(seconds), 1055.0, 0.0005);
        near(fire.kw(60.0), at_60, 0.005);
        let reached = Growth::new(alpha, 1055.0).peaks_after_s();
        near(reached, seconds, 0.0005);
    }
}

// Source: equation 2.10 of NUREG-1805 and 353/T, vectors of the open-source library (seen).
#[test]
fn filling_and_density() {
    near(
        filling_height_m(0.12, 1000.0, 90.0, 250.0, 4.5),
        1.886_933_556,
        1e-9,
    );
    near(gas_density_kg_m3(500.0), 0.706, 1e-12);
}

// Source: equation 2.10 of NUREG-1805 (seen): a closed room with a steady fire and smoke of one density
// fills as the closed form says, with k = entrainment constant over density.
#[test]
fn a_closed_room_fills_as_the_closed_form_says() {
    let mut room = worksheet_room(CONCRETE, 0.3);
    room.vents.clear();
    let mut descent = Descent::new(&room, 0.0, 293.15);
    descent.step(1e-6, 0.0, 353.15);
    let k = entrained_kg_s(293.15, 1.0, 1.0) / gas_density_kg_m3(353.15);
    for step in 1..=600 {
        descent.step(0.1, 200.0, 353.15);
        if step % 200 == 0 {
            let t_s = f64::from(step) * 0.1;
            let expected = filling_height_m(k, 200.0, t_s, room.floor_m2(), room.height_m);
            let found = descent.layer().interface_m;
            assert!(
                (found - expected).abs() < 0.02,
                "{t_s} s: {found} {expected}"
            );
        }
    }
}

/// Interface of the worksheet room when what the plume lifts leaves above the neutral plane of the door and
/// enters below it, sought by halving.
///
/// Source: Zukoski's plume, and flows through an opening with coefficient 0.7 (Karlsson and Quintiere, Enclosure
/// Fire Dynamics), both from memory, not seen; it shares no code with the room that is followed in time.
fn settled_interface_m(power_kw: f64, cold_k: f64, hot_k: f64) -> f64 {
    let (width, soffit) = (1.2192, 1.8288);
    let (cold, hot) = (353.0 / cold_k, 353.0 / hot_k);
    let flow = |density: f64| 0.7 * width * (2.0 * 9.81 * (cold - hot) * density).sqrt();
    // What enters beyond what is lifted, with the plane so high that all that is lifted leaves.
    let surplus = |interface: f64| {
        let plume = 0.21 * (cold * cold * 9.81 / cold_k).cbrt();
        let lifted = plume * power_kw.cbrt() * interface.powf(5.0 / 3.0);
        let plane = soffit - (1.5 * lifted / flow(hot)).powf(2.0 / 3.0);
        let below = (plane - interface).max(0.0);
        let enters = flow(cold) * (below.powf(1.5) / 1.5 + interface * below.sqrt());
        enters - lifted
    };
    let (mut low, mut high) = (0.05, soffit);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if surplus(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

// Source: conservation of mass, and common practice, no published source: with a door the interface
// settles below its soffit, where what leaves is what the plume lifts.
#[test]
fn with_a_door_the_interface_settles() {
    let room = worksheet_room(CONCRETE, 0.3);
    let mut descent = Descent::new(&room, 0.0, 293.15);
    for _ in 0..3000 {
        descent.step(0.2, 500.0, 293.15 + 190.0);
    }
    let settled = descent.layer();
    let soffit = 1.8288;
    assert!(
        settled.interface_m < soffit && settled.interface_m > 0.3,
        "{settled:?}"
    );
    let lifted = entrained_kg_s(293.15, 500.0, settled.interface_m);
    near(settled.out_kg_s, lifted, 0.01);
    near(settled.in_kg_s, lifted, 0.01);
    let expected = settled_interface_m(500.0, 293.15, 293.15 + 190.0);
    assert!(
        (settled.interface_m - expected).abs() < 0.003,
        "{settled:?}, expected {expected} m"
    );
    // Rockett's rule, from memory: the flow is some 0.4 to 0.61 A₀√H₀ kg/s at most.
    let most = 0.61 * room.vent_factor();
    assert!(
        settled.out_kg_s < most && settled.out_kg_s > 0.25 * most,
        "{settled:?}"
    );
}

// Source: chapter on compartment fire temperatures in the SFPE handbook, from memory, not seen: the
// correlation holds from some 20 K to 600 K, for rooms with openings that give air enough.
#[test]
fn leaving_the_limits_is_said() {
    let room = worksheet_room(CONCRETE, 0.3048);
    let has = |kw: f64, t_s: f64, wanted: fn(&Warning) -> bool| {
        room.layer_rise(kw, t_s).warnings.iter().any(wanted)
    };
    assert!(has(3500.0, 3000.0, |w| matches!(
        w,
        Warning::Flashover { .. }
    )));
    assert!(!has(1000.0, 600.0, |w| matches!(
        w,
        Warning::Flashover { .. }
    )));
    assert!(has(20.0, 60.0, |w| matches!(w, Warning::Faint { .. })));
    assert!(has(500.0, 2.0, |w| matches!(w, Warning::Early { .. })));
    // Either side of each limit. The rise goes with Q^⅔: of 303.51 K at 1000 kW and 1800 s follow 590 K at 2710 kW
    // and 610 K at 2849 kW; of 68.33 K at 250 kW and 60 s follow 19 K at 36.66 kW and 21 K at 42.59 kW (by hand).
    let flashover = |w: &Warning| matches!(w, Warning::Flashover { .. });
    assert!(!has(2710.0, 1800.0, flashover) && has(2849.0, 1800.0, flashover));
    let faint = |w: &Warning| matches!(w, Warning::Faint { .. });
    assert!(has(36.66, 60.0, faint) && !has(42.59, 60.0, faint));
    // 10 s are assumed, as docs/fire-and-walls.md says.
    let early = |w: &Warning| matches!(w, Warning::Early { .. });
    assert!(has(500.0, 9.9, early) && !has(500.0, 10.1, early));
    // 1515 kW × 2.22967 m² × √1.8288 m = 4568 kW.
    assert!(has(4600.0, 60.0, |w| matches!(
        w,
        Warning::ShortOfAir { .. }
    )));
    assert!(!has(4500.0, 60.0, |w| matches!(
        w,
        Warning::ShortOfAir { .. }
    )));
    let mut closed = worksheet_room(CONCRETE, 0.3048);
    closed.vents.clear();
    assert!(
        closed
            .layer_rise(100.0, 60.0)
            .warnings
            .contains(&Warning::Closed)
    );
    for warning in room.layer_rise(5000.0, 3000.0).warnings {
        assert!(warning.to_string().contains("1080 °F") || warning.to_string().contains("kW"));
    }
}
