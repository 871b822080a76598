//! Steady walls, balance of energy, air spaces, bound water and sprays.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a failure here is the test's result; counts of steps are small"
)]

use glowsill::world::conduction::cavity::{
    Lie, air_coefficient, air_conductivity, air_viscosity, exchange_emissivity,
};
use glowsill::world::conduction::library::{
    BRICK as COMMON_BRICK, CONCRETE, GYPSUM_PLASTER, OAK, PLASTERBOARD, SOFTWOOD, STEEL,
};
use glowsill::world::conduction::water::saturation_pa;
use glowsill::world::conduction::{
    Assembly, BoundWater, Boundary, Grid, Material, Ply, STEFAN_BOLTZMANN, Spray, Wall, assembly,
    assembly_library, clothing_library,
};
use glowsill::world::fire::Exposure;
use glowsill::world::fire::exposure::{Hydrocarbon, Iso834};

const BRICK: Material = Material::new("brick", 0.72, 1920.0, 835.0, "Incropera A.3");
const WOOL: Material = Material::new("wool", 0.038, 32.0, 835.0, "Incropera A.3");
const PLASTER: Material = Material::new("plaster", 0.22, 1680.0, 1085.0, "Incropera A.3");

fn of(plies: Vec<Ply>) -> Assembly {
    Assembly {
        name: "test",
        title: "test",
        plies,
        emissivity_fire: 0.9,
        emissivity_room: 0.9,
        sources: "",
        note: "",
    }
}

fn settle(assembly: &Assembly, fire: Boundary, room: Boundary, hours: u32) -> (Wall, f64) {
    let mut wall = Wall::new(assembly, 293.15, Grid::default()).unwrap();
    for _ in 0..hours {
        wall.step(3600.0, fire, room).unwrap();
    }
    let before = wall.fire_heat_j_m2();
    wall.step(3600.0, fire, room).unwrap();
    let flux = (wall.fire_heat_j_m2() - before) / 3600.0;
    (wall, flux)
}

// Source: resistances in series, q = ΔT/(1/h₁ + Σ δ/k + 1/h₂) (Incropera and DeWitt section 3.1).
#[test]
fn steady_heat_is_that_of_resistances_in_series() {
    let wall = of(vec![
        Ply::solid(BRICK, 0.1),
        Ply::solid(WOOL, 0.05),
        Ply::solid(PLASTER, 0.02),
    ]);
    let fire = Boundary::exchange(593.15, 25.0, 0.0);
    let room = Boundary::exchange(293.15, 8.0, 0.0);
    let (wall, flux) = settle(&wall, fire, room, 200);
    let resistance = 1.0 / 25.0 + 0.1 / 0.72 + 0.05 / 0.038 + 0.02 / 0.22 + 1.0 / 8.0;
    let expected = 300.0 / resistance;
    assert!((flux / expected - 1.0).abs() < 1e-6, "{flux} {expected}");
    assert!((wall.room_face_k() - (293.15 + expected / 8.0)).abs() < 1e-3);
    assert!((wall.fire_face_k() - (593.15 - expected / 25.0)).abs() < 1e-3);
}

// Source: radiation of wide parallel faces, σ(T₁⁴ − T₂⁴)/(1/ε₁ + 1/ε₂ − 1) (Incropera and DeWitt section
// 13.3), and the resistance of the air; solved by halving, independently of the wall.
#[test]
fn an_air_space_passes_radiation_and_air_heat() {
    let plates = of(vec![
        Ply::solid(BRICK, 0.01),
        Ply::Gap {
            thickness_m: 0.05,
            emissivities: [0.8, 0.6],
            lie: Lie::Upright,
        },
        Ply::solid(BRICK, 0.01),
    ]);
    // Faces held at 800 K and 400 K.
    let fire = Boundary::exchange(800.0, 1e8, 0.0);
    let room = Boundary::exchange(400.0, 1e8, 0.0);
    let (_, flux) = settle(&plates, fire, room, 50);
    let across = |hot: f64, cold: f64| {
        let grey = 1.0 / (1.0 / 0.8 + 1.0 / 0.6 - 1.0);
        let air = air_coefficient(0.05, Lie::Upright, hot, cold);
        grey * 5.670_374_419e-8 * (hot.powi(4) - cold.powi(4)) + air * (hot - cold)
    };
    let (mut low, mut high) = (0.0, 5e4);
    for _ in 0..100 {
        let q = 0.5 * (low + high);
        if across(800.0 - q * 0.01 / 0.72, 400.0 + q * 0.01 / 0.72) > q {
            low = q;
        } else {
            high = q;
        }
    }
    assert!((flux / low - 1.0).abs() < 1e-4, "{flux} {low}");
    assert!((exchange_emissivity(0.8, 0.6) - 0.521_739).abs() < 1e-6);
}

// Source: Incropera and DeWitt, table A.4, air at atmospheric pressure, from memory, not seen.
#[test]
fn air_is_that_of_the_tables() {
    for (kelvin, conductivity, viscosity) in [
        (300.0, 26.3e-3, 184.6e-7),
        (500.0, 40.7e-3, 270.1e-7),
        (800.0, 57.3e-3, 369.8e-7),
        (1000.0, 66.7e-3, 424.4e-7),
    ] {
        assert!((air_conductivity(kelvin) / conductivity - 1.0).abs() < 0.025);
        assert!((air_viscosity(kelvin) / viscosity - 1.0).abs() < 0.025);
    }
}

// Source: EN 673 and common practice of glazing, from memory, not seen: 12 mm of still air between panes
// conducts some 2 W m⁻² K⁻¹; wide spaces convect, 1 to 3 W m⁻² K⁻¹ at such differences. Level spaces
// that are hot above only conduct.
#[test]
fn air_spaces_have_the_usual_coefficients() {
    let narrow = air_coefficient(0.012, Lie::Upright, 288.0, 278.0);
    assert!((narrow - 0.0248 / 0.012).abs() < 0.05, "{narrow}");
    let wide = air_coefficient(0.09, Lie::Upright, 290.5, 275.5);
    assert!((1.0..3.0).contains(&wide), "{wide}");
    let stable = air_coefficient(0.3, Lie::LevelFireBelow, 280.0, 300.0);
    assert!((stable - air_conductivity(290.0) / 0.3).abs() < 1e-12);
    assert!(air_coefficient(0.3, Lie::LevelFireBelow, 300.0, 280.0) > 5.0 * stable);
}

fn balance(assembly: &Assembly, exposure: &dyn Exposure, dt_s: f64) -> f64 {
    let mut wall = Wall::new(assembly, 293.15, Grid::default()).unwrap();
    let room = Boundary::exchange(293.15, 4.0, assembly.emissivity_room);
    let steps = (3600.0 / dt_s).round() as u32;
    for step in 0..steps {
        let middle = (f64::from(step) + 0.5) * dt_s;
        let fire = exposure
            .fire_side(middle)
            .boundary(assembly.emissivity_fire);
        wall.step(dt_s, fire, room).unwrap();
    }
    let net = wall.fire_heat_j_m2() + wall.room_heat_j_m2();
    let kept = wall.stored_j_m2();
    (net - kept).abs() / wall.fire_heat_j_m2().abs()
}

// Source: conservation of energy; the heat through the faces and the heat stored are counted apart.
#[test]
fn energy_is_conserved_in_every_wall_of_the_library() {
    for assembly in assembly_library().iter().chain(clothing_library()) {
        for (exposure, dt_s) in [(&Iso834 as &dyn Exposure, 2.0), (&Hydrocarbon, 10.0)] {
            let error = balance(assembly, exposure, dt_s);
            println!("{}: {error:.1e}", assembly.name);
            assert!(error < 1e-8, "{}: {error}", assembly.name);
        }
    }
}

// Source: arithmetic: all bound water gone takes ρ δ L besides the sensible heat, and it does not come
// back on cooling.
#[test]
fn bound_water_takes_its_heat_once() {
    let wet = PLASTER.with_water(BoundWater {
        latent_j_kg: 487e3,
        from_k: 373.15,
        to_k: 453.15,
    });
    let board = of(vec![Ply::solid(wet, 0.0125)]);
    let mut wall = Wall::new(&board, 293.15, Grid::default()).unwrap();
    let hot = Boundary::exchange(673.15, 50.0, 0.9);
    for _ in 0..7200 {
        wall.step(2.0, hot, hot).unwrap();
    }
    let mass = 1680.0 * 0.0125;
    let expected = mass * (487e3 + 1085.0 * 380.0);
    assert!((wall.stored_j_m2() / expected - 1.0).abs() < 1e-5);
    let entered = wall.fire_heat_j_m2() + wall.room_heat_j_m2();
    assert!((entered / expected - 1.0).abs() < 1e-5);
    let cold = Boundary::exchange(293.15, 50.0, 0.9);
    for _ in 0..7200 {
        wall.step(2.0, cold, cold).unwrap();
    }
    let left = wall.fire_heat_j_m2() + wall.room_heat_j_m2();
    assert!((left / (mass * 487e3) - 1.0).abs() < 1e-4, "{left}");
}

// Common practice, no published source: boards with bound water pause near 100 °C, dry ones do not.
#[test]
fn bound_water_delays_a_board() {
    let dry = of(vec![Ply::solid(PLASTER, 0.0125)]);
    let water = BoundWater {
        latent_j_kg: 487e3,
        from_k: 373.15,
        to_k: 453.15,
    };
    let wet = of(vec![Ply::solid(PLASTER.with_water(water), 0.0125)]);
    let reaches = |board: &Assembly| {
        let mut wall = Wall::new(board, 293.15, Grid::default()).unwrap();
        let room = Boundary::exchange(293.15, 4.0, 0.9);
        while wall.room_face_k() < 433.15 {
            let fire = Iso834.fire_side(wall.elapsed_s() + 1.0).boundary(0.9);
            wall.step(2.0, fire, room).unwrap();
        }
        wall.elapsed_s()
    };
    let (dry_s, wet_s) = (reaches(&dry), reaches(&wet));
    assert!(wet_s > 1.3 * dry_s, "{dry_s} {wet_s}");
    // The board of the library: 2 H2O in CaSO4·2H2O are 2·18.015/172.17 of its mass (arithmetic with molar masses);
    // 80 % of that evaporating alone takes 2.257 MJ/kg (steam tables, from memory, not seen). Setting it free takes
    // more, but less than half as much again (common practice, no published source).
    let board = assembly("plasterboard-stud").unwrap().materials().next();
    let latent_j_kg = board.unwrap().water.unwrap().latent_j_kg;
    let evaporating = 0.8 * 2.0 * 18.015 / 172.17 * 2.257e6;
    assert!(
        (evaporating..1.5 * evaporating).contains(&latent_j_kg),
        "{latent_j_kg} J/kg, {evaporating} J/kg to evaporate alone"
    );
}

// Source: steam tables, from memory, not seen: saturation pressure 1.228 kPa at 10 °C, 7.384 at 40 °C,
// 31.19 at 70 °C, 101.3 at 100 °C; the Magnus form is stated to 0.4 % up to 50 °C, here 3 % up to 100 °C.
#[test]
fn saturation_pressures() {
    for (celsius, kpa, share) in [
        (10.0, 1.228, 0.004),
        (40.0, 7.384, 0.005),
        (70.0, 31.19, 0.01),
        (100.0, 101.3, 0.03),
    ] {
        let found = saturation_pa(celsius + 273.15) / 1000.0;
        assert!((found / kpa - 1.0).abs() < share, "{celsius} °C: {found}");
    }
}

// Source: arithmetic with the latent heat of water: at most rate·(c ΔT + L); a wall that 0.02 kg/m²s
// reach loses 0.02·(4186·85 + 2.257e6) = 52.3 kW/m² once all of it evaporates.
#[test]
fn a_spray_takes_no_more_than_all_of_it_evaporating() {
    let spray = Spray {
        rate_kg_m2s: 0.02,
        water_k: 288.15,
    };
    let gas = Boundary::exchange(673.15, 25.0, 0.9);
    let most = 0.02 * (4186.0 * 85.0 + 2.257e6);
    assert!((spray.heat_w_m2(450.0, &gas) / most - 1.0).abs() < 1e-9);
    let mut last = f64::NEG_INFINITY;
    for kelvin in 280..700 {
        let heat = spray.heat_w_m2(f64::from(kelvin), &gas);
        assert!(heat >= last - 1e-9 && heat <= most * (1.0 + 1e-9));
        last = heat;
    }
}

// Common practice, no published source: a sprayed hot wall cools below the boiling point, and the
// balance of energy closes with the water in it.
#[test]
fn a_sprayed_wall_cools() {
    let brick = of(vec![Ply::solid(BRICK, 0.1)]);
    let mut wall = Wall::new(&brick, 293.15, Grid::default()).unwrap();
    let room = Boundary::exchange(293.15, 4.0, 0.9);
    let fire = Boundary::exchange(773.15, 25.0, 0.9);
    for _ in 0..600 {
        wall.step(1.0, fire, room).unwrap();
    }
    assert!(wall.fire_face_k() > 550.0);
    let spray = Spray {
        rate_kg_m2s: 0.05,
        water_k: 288.15,
    };
    let entered = wall.fire_heat_j_m2();
    for _ in 0..120 {
        wall.step(1.0, fire.sprayed(spray), room).unwrap();
    }
    assert!(wall.fire_face_k() < 373.15 + 20.0, "{}", wall.fire_face_k());
    assert!(wall.fire_heat_j_m2() < entered);
    let net = wall.fire_heat_j_m2() + wall.room_heat_j_m2();
    assert!((net / wall.stored_j_m2() - 1.0).abs() < 1e-3);
}

// Source: table of thermal properties in NUREG-1805 (steel, concrete seen in full; plasterboard's conductivity seen, the
// rest from memory, not seen); Incropera and DeWitt, table A.3 (from memory, not seen).
#[test]
fn materials_are_those_of_the_tables() {
    for (material, conductivity, density, specific_heat) in [
        (STEEL, 54.0, 7850.0, 465.0),
        (CONCRETE, 1.6, 2400.0, 750.0),
        (PLASTERBOARD, 0.16, 950.0, 840.0),
        (GYPSUM_PLASTER, 0.22, 1680.0, 1085.0),
        (SOFTWOOD, 0.12, 510.0, 1380.0),
        (OAK, 0.16, 720.0, 1255.0),
        (COMMON_BRICK, 0.72, 1920.0, 835.0),
    ] {
        let name = material.name;
        assert_eq!(material.conductivity_w_mk, conductivity, "{name}");
        assert_eq!(material.density_kg_m3, density, "{name}");
        assert_eq!(material.specific_heat_j_kgk, specific_heat, "{name}");
    }
}

// Source: CODATA 2018, the Stefan-Boltzmann constant.
#[test]
fn stefan_and_boltzmann() {
    assert!((STEFAN_BOLTZMANN - 5.670_374_419e-8).abs() < 1e-17);
}
