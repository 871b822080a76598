//! Transient conduction against closed forms, and the order of its error.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a failure here is the test's result; counts of steps are small"
)]

use glowsill::world::conduction::{Assembly, Boundary, Grid, Material, Ply, Wall};
use glowsill_physics::{number, parameter, rows, textbook_material};

fn material(name: &str) -> Material {
    let [k, rho, c] = textbook_material(name);
    Material::new("textbook", k, rho, c, "data/conduction_materials.json")
}

fn solid(material: Material, thickness_m: f64) -> Assembly {
    Assembly {
        name: "test",
        title: "test",
        plies: vec![Ply::solid(material, thickness_m)],
        emissivity_fire: 1.0,
        emissivity_room: 1.0,
        sources: "",
        note: "",
    }
}

/// Temperature at a depth, straight between the nodes.
fn at(wall: &Wall, depth_m: f64) -> f64 {
    let nodes: Vec<_> = wall.nodes().collect();
    let pair = nodes
        .windows(2)
        .find(|pair| pair[1].0 >= depth_m - 1e-12)
        .expect("the depth lies in the wall");
    let ((from, low), (to, high)) = (pair[0], pair[1]);
    low + (depth_m - from) / (to - from) * (high - low)
}

fn run_to(wall: &mut Wall, t_s: f64, steps: u32, sides: [Boundary; 2]) {
    let dt = (t_s - wall.elapsed_s()) / f64::from(steps);
    for _ in 0..steps {
        wall.step(dt, sides[0], sides[1]).expect("the step settles");
    }
}

/// The face of a half space that the case names.
fn face(case: &str, parameters: &str) -> Boundary {
    match case {
        // A fixed face temperature is a gas that gives heat without resistance.
        "semi_inf_const_T" => Boundary::exchange(parameter(parameters, "Ts"), 1e8, 0.0),
        "semi_inf_const_q" => Boundary::flux(parameter(parameters, "q")),
        "semi_inf_convection" => {
            Boundary::exchange(parameter(parameters, "Tg"), parameter(parameters, "h"), 0.0)
        }
        other => panic!("case {other}"),
    }
}

// Source: closed forms with erf and erfc (Carslaw and Jaeger; Incropera and DeWitt section 5.7),
// evaluated outside the project, data/README.md. 0.5 % of the rise at the place, or 10 mK.
#[test]
fn half_spaces_follow_the_closed_forms() {
    let table = rows("conduction_semi_infinite.csv");
    assert_eq!(table.len(), 336);
    let mut worst: f64 = 0.0;
    for case in [
        "semi_inf_const_T",
        "semi_inf_const_q",
        "semi_inf_convection",
    ] {
        for name in ["concrete", "gypsum", "pine", "steel"] {
            let points: Vec<_> = table
                .iter()
                .filter(|row| row[0] == case && row[1] == name)
                .collect();
            assert_eq!(points.len(), 28, "{case} of {name}");
            let material = material(name);
            // Far ahead of the heat the rise is a steep tail: insulators need the finest cells.
            let cell_m = match name {
                "steel" => 5e-4,
                "concrete" => 1e-4,
                _ => 5e-5,
            };
            // A whole number of cells, so that nodes stand at the places of the table.
            let needed = 0.05 + 9.0 * (material.diffusivity() * 900.0).sqrt();
            let depth = (needed / cell_m).ceil() * cell_m;
            let grid = Grid {
                cell_m,
                at_least: 1,
            };
            let mut wall = Wall::new(&solid(material, depth), 293.15, grid).unwrap();
            let sides = [face(case, &points[0][2]), Boundary::INSULATED];
            for t_s in [10.0, 60.0, 300.0, 900.0] {
                run_to(&mut wall, t_s, 300, sides);
                for point in points.iter().filter(|point| number(&point[3]) == t_s) {
                    let (x_m, expected) = (number(&point[4]), number(&point[5]));
                    let found = at(&wall, x_m);
                    let allowed = (0.005 * (expected - 293.15).abs()).max(0.01);
                    let error = (found - expected).abs();
                    worst = worst.max(error / allowed);
                    assert!(
                        error <= allowed,
                        "{case} {name} {t_s} s {x_m} m: {found:.4} K, expected {expected:.4} K"
                    );
                }
            }
        }
    }
    println!("worst: {:.2} of what is allowed", worst);
}

const HALF_M: f64 = 0.05;
const HOT_K: f64 = 893.15;
const COLD_K: f64 = 293.15;

fn slab(biot: f64, grid: Grid) -> (Wall, [Boundary; 2], f64) {
    let concrete = material("concrete");
    let h = biot * concrete.conductivity_w_mk / HALF_M;
    let wall = Wall::new(&solid(concrete, 2.0 * HALF_M), HOT_K, grid).unwrap();
    let second_per_fourier = HALF_M * HALF_M / concrete.diffusivity();
    let side = Boundary::exchange(COLD_K, h, 0.0);
    (wall, [side, side], second_per_fourier)
}

fn theta(wall: &Wall, x_over_half: f64) -> f64 {
    (at(wall, HALF_M * (1.0 + x_over_half)) - COLD_K) / (HOT_K - COLD_K)
}

// Source: series of a plane wall with convection on both faces (Incropera and DeWitt section 5.5), 60
// terms, evaluated outside the project, data/README.md. 0.5 % of the change, or 1e-4 of the whole.
#[test]
fn plane_walls_with_convection_follow_the_series() {
    let table = rows("conduction_slab_convection.csv");
    assert_eq!(table.len(), 189);
    for biot in [0.01, 0.1, 0.5, 1.0, 2.0, 5.0, 10.0, 50.0, 100.0] {
        let grid = Grid {
            cell_m: 2.5e-4,
            at_least: 1,
        };
        let (mut wall, sides, unit_s) = slab(biot, grid);
        let points: Vec<_> = table.iter().filter(|row| number(&row[0]) == biot).collect();
        assert_eq!(points.len(), 21, "Bi {biot}");
        for fourier in [0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0] {
            run_to(&mut wall, fourier * unit_s, 150, sides);
            for point in points.iter().filter(|row| number(&row[1]) == fourier) {
                let (x, expected) = (number(&point[2]), number(&point[3]));
                let found = theta(&wall, x);
                let allowed = (0.005 * (1.0 - expected)).max(1e-4);
                assert!(
                    (found - expected).abs() <= allowed,
                    "Bi {biot} Fo {fourier} x/L {x}: {found:.6}, expected {expected:.6}"
                );
            }
        }
    }
}

/// Error at Fo = 0.5, Bi = 1 in the middle and at the face.
fn error_of(cells: u32, steps: u32) -> [f64; 2] {
    let grid = Grid {
        cell_m: 2.0 * HALF_M / f64::from(cells),
        at_least: 1,
    };
    let (mut wall, sides, unit_s) = slab(1.0, grid);
    run_to(&mut wall, 0.5 * unit_s, steps, sides);
    let table = rows("conduction_slab_convection.csv");
    [0.0, 1.0].map(|x| {
        let row = table
            .iter()
            .find(|row| number(&row[0]) == 1.0 && number(&row[1]) == 0.5 && number(&row[2]) == x);
        (theta(&wall, x) - number(&row.expect("the row is there")[3])).abs()
    })
}

fn orders(coarse: [f64; 2], fine: [f64; 2]) -> [f64; 2] {
    [0, 1].map(|i| (coarse[i] / fine[i]).log2())
}

// Source: theory of finite volumes and of the two-stage scheme: the error falls with the square of cell
// and step, so that halving gives a quarter; the exact value is the series of the table.
#[test]
fn the_error_falls_with_the_square_of_the_cell() {
    let errors = [16, 32, 64].map(|cells| error_of(cells, 2000));
    for pair in errors.windows(2) {
        for order in orders(pair[0], pair[1]) {
            println!("order in space {order:.3}");
            assert!((1.9..2.1).contains(&order), "order {order}: {errors:?}");
        }
    }
}

#[test]
fn the_error_falls_with_the_square_of_the_step() {
    // 4 and 8 steps are far from the limit; the grid's own error, near 1e-6, must stay far below.
    let errors = [10, 20, 40].map(|steps| error_of(800, steps));
    for pair in errors.windows(2) {
        for order in orders(pair[0], pair[1]) {
            println!("order in time {order:.3}");
            assert!((1.8..2.3).contains(&order), "order {order}: {errors:?}");
        }
    }
}

// Source: lumped heat capacity, T = Tg + (T0 − Tg) e^(−ht/ρcδ) (Incropera and DeWitt section 5.1), right for
// Bi = hδ/k well below 0.1; here 25·0.001/54 = 5e-4, both faces together.
#[test]
fn a_thin_sheet_follows_the_lumped_solution() {
    let steel = Material::new("steel", 54.0, 7850.0, 465.0, "NUREG-1805");
    let mut wall = Wall::new(&solid(steel, 1e-3), 293.15, Grid::default()).unwrap();
    let fire = Boundary::exchange(873.15, 25.0, 0.0);
    let time_constant = 7850.0 * 465.0 * 1e-3 / 25.0;
    for t_s in [10.0, 60.0, 146.0, 600.0] {
        let left: f64 = t_s - wall.elapsed_s();
        for _ in 0..(left.round() as u32) {
            wall.step(1.0, fire, Boundary::INSULATED).unwrap();
        }
        let expected = 873.15 - 580.0 * (-t_s / time_constant).exp();
        assert!((wall.room_face_k() - expected).abs() < 0.005 * (expected - 293.15));
        assert!((wall.fire_face_k() - wall.room_face_k()).abs() < 1.0);
    }
}

// Source: Drysdale, An Introduction to Fire Dynamics, eq. 6.32 and 6.33, worked numbers seen in an
// open-source library: k 0.19, ρ 1190, c 1420, from 25 °C to 300 °C under 20 kW/m²: 47.67428456 s; 1 mm
// thin: 23.23475 s.
#[test]
fn ignition_times_of_drysdale() {
    let pmma = Material::new("PMMA", 0.19, 1190.0, 1420.0, "Drysdale");
    let reaches = |thickness_m: f64, cell_m: f64| {
        let grid = Grid {
            cell_m,
            at_least: 4,
        };
        let mut wall = Wall::new(&solid(pmma, thickness_m), 298.15, grid).unwrap();
        let mut before = wall.fire_face_k();
        loop {
            wall.step(0.02, Boundary::flux(20e3), Boundary::INSULATED)
                .unwrap();
            let now = wall.fire_face_k();
            if now >= 573.15 {
                return wall.elapsed_s() - 0.02 * (now - 573.15) / (now - before);
            }
            before = now;
        }
    };
    let thick = reaches(0.03, 1e-4);
    assert!((thick / 47.674_284_56 - 1.0).abs() < 0.005, "{thick}");
    // The thin formula is for a body without gradient; 1 mm of plastic has one, so its heat is compared:
    // the mean temperature rises by q t/(ρ c τ).
    let mut wall = Wall::new(&solid(pmma, 1e-3), 298.15, Grid::default()).unwrap();
    let step = 23.234_75 / 100.0;
    for _ in 0..100 {
        wall.step(step, Boundary::flux(20e3), Boundary::INSULATED)
            .unwrap();
    }
    let mean_rise = wall.stored_j_m2() / (1190.0 * 1420.0 * 1e-3);
    assert!((mean_rise - 275.0).abs() < 0.01, "{mean_rise}");
}
