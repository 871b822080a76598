//! Walls, doors, ceilings and clothing by name.
//!
//! Thicknesses are common ones and **assumed** unless a source is named. Every material carries its
//! source; emissivities have theirs in [`Assembly::sources`].

use std::sync::LazyLock;

use super::assembly::{Assembly, Ply};
use super::cavity::Lie;
use super::error::UnknownAssembly;
use super::material::{BoundWater, Material};
use crate::profile_file::source::nearest;

/// Carbon steel.
pub const STEEL: Material = Material::new(
    "steel",
    54.0,
    7850.0,
    465.0,
    "steel with 0.5 % carbon, table of thermal properties in NUREG-1805 (seen)",
);

/// Water bound in gypsum: CaSO4·2H2O to CaSO4 and steam.
///
/// Latent heat from enthalpies of formation (dihydrate −2022.6, anhydrite −1434.1, steam −241.8
/// kJ/mol; tables of the US National Bureau of Standards, from memory, not seen): 104.9 kJ/mol, with
/// 172.2 g/mol 609 kJ/kg of gypsum. Boards are taken as 80 % gypsum, and 100 °C to 180 °C as the
/// interval: both assumed.
const GYPSUM_WATER: BoundWater = BoundWater {
    latent_j_kg: 0.8 * 609e3,
    from_k: 373.15,
    to_k: 453.15,
};

/// Plasterboard.
pub const PLASTERBOARD: Material = Material::new(
    "plasterboard",
    0.16,
    950.0,
    840.0,
    "conductivity: NUREG-1805 (seen in carriers); density and specific heat: the same table, from \
     memory, not seen; bound water: calculated from enthalpies of formation, from memory, with 80 % \
     gypsum assumed",
)
.with_water(GYPSUM_WATER);

/// Sand plaster on gypsum basis.
pub const GYPSUM_PLASTER: Material = Material::new(
    "gypsum plaster",
    0.22,
    1680.0,
    1085.0,
    "gypsum plaster with sand, Incropera and DeWitt, table A.3 (seen in a carrier); its bound water is left out",
);

/// Softwood.
pub const SOFTWOOD: Material = Material::new(
    "softwood",
    0.12,
    510.0,
    1380.0,
    "Incropera and DeWitt, table A.3 (seen in a carrier); its moisture is left out",
)
.limited(
    573.15,
    "wood chars near 300 °C (572 °F) (EN 1995-1-2, from memory)",
);

/// Oak.
pub const OAK: Material = Material::new(
    "oak",
    0.16,
    720.0,
    1255.0,
    "Incropera and DeWitt, table A.3 (seen in a carrier); its moisture is left out",
)
.limited(
    573.15,
    "wood chars near 300 °C (572 °F) (EN 1995-1-2, from memory)",
);

/// Common brick.
pub const BRICK: Material = Material::new(
    "brick",
    0.72,
    1920.0,
    835.0,
    "common brick, Incropera and DeWitt, table A.3 (seen in a carrier); its moisture is left out",
);

/// Concrete.
pub const CONCRETE: Material = Material::new(
    "concrete",
    1.6,
    2400.0,
    750.0,
    "table of thermal properties in NUREG-1805 (seen); its moisture is left out",
);

/// Window glass.
pub const GLASS: Material = Material::new(
    "window glass",
    0.76,
    2700.0,
    840.0,
    "conductivity: NUREG-1805 (seen in carriers); density and specific heat: Drysdale, table 2.1, from memory, not seen",
)
.limited(
    393.15,
    "ordinary panes crack when their middle is some 80 K (144 °F) hotter than their edge (common practice, no published source)",
);

/// Glass wool.
pub const GLASS_WOOL: Material = Material::new(
    "glass wool",
    0.037,
    60.0,
    800.0,
    "conductivity: NUREG-1805 (seen in carriers); density and specific heat: the same table, from memory, not seen; \
     its conductivity grows with temperature, which is left out",
)
.limited(873.15, "glass wool sinters near 600 °C (1112 °F) (common practice, no published source)");

/// Stone wool.
pub const STONE_WOOL: Material = Material::new(
    "stone wool",
    0.04,
    100.0,
    1030.0,
    "mineral wool, EN ISO 10456, from memory, not seen; its conductivity grows with temperature, which is left out",
);

/// Mineral ceiling tile.
pub const MINERAL_TILE: Material = Material::new(
    "mineral tile",
    0.06,
    300.0,
    840.0,
    "assumed, between mineral wool and fibre board",
);

/// Outer shell of turnout gear.
pub const SHELL_CLOTH: Material = Material::new(
    "outer shell cloth",
    0.05,
    320.0,
    1300.0,
    "assumed, order of magnitude of aramid cloth",
)
.limited(
    573.15,
    "cloth of turnout gear discolours and weakens from some 300 °C (572 °F) (assumed)",
);

/// Lining of turnout gear: moisture barrier and thermal batting.
pub const BATTING: Material = Material::new(
    "thermal lining",
    0.04,
    80.0,
    1300.0,
    "assumed, order of magnitude of fibre batting with still air",
);

const PAINTED: &str = "painted or plastered wall 0.90, building references, from memory, not seen";

fn upright(thickness_m: f64, emissivity: f64) -> Ply {
    Ply::Gap {
        thickness_m,
        emissivities: [emissivity; 2],
        lie: Lie::Upright,
    }
}

fn build() -> Vec<Assembly> {
    let steel = |mm: f64| Ply::solid(STEEL, mm * 1e-3);
    let layer = |material, mm: f64| Ply::solid(material, mm * 1e-3);
    vec![
        Assembly {
            name: "steel-sheet",
            title: "thin steel sheet, 1 mm, painted",
            plies: vec![steel(1.0)],
            emissivity_fire: 0.8,
            emissivity_room: 0.9,
            sources: "0.8 in a fire: EN 1991-1-2, from memory, not seen; paint 0.90 to 0.92: \
                      Incropera, table A.11, from memory, not seen",
            note: "Heat shows on it within a minute or two.",
        },
        Assembly {
            name: "steel-double",
            title: "steel door, two painted sheets of 1 mm with 40 mm of air between",
            plies: vec![steel(1.0), upright(0.04, 0.8), steel(1.0)],
            emissivity_fire: 0.8,
            emissivity_room: 0.9,
            sources: "0.8 in a fire and inside: EN 1991-1-2, from memory, not seen; paint: \
                      Incropera, table A.11, from memory, not seen",
            note: "The second sheet is heated by radiation from the first: later than one sheet, not late.",
        },
        Assembly {
            name: "steel-insulated",
            title: "insulated panel, sheets of 0.6 mm with 60 mm of stone wool between",
            plies: vec![steel(0.6), layer(STONE_WOOL, 60.0), steel(0.6)],
            emissivity_fire: 0.8,
            emissivity_room: 0.9,
            sources: "as steel-double",
            note: "Steel to look at, but the wool behind it keeps heat from showing.",
        },
        Assembly {
            name: "plasterboard-stud",
            title: "plasterboard of 12.5 mm on both sides of 90 mm of air between studs",
            plies: vec![
                layer(PLASTERBOARD, 12.5),
                upright(0.09, 0.9),
                layer(PLASTERBOARD, 12.5),
            ],
            emissivity_fire: 0.9,
            emissivity_room: 0.9,
            sources: PAINTED,
            note: "The water bound in gypsum holds the board near 100 °C (212 °F) for a long time.",
        },
        Assembly {
            name: "plaster-lath",
            title: "plaster of 20 mm on wooden lath of 8 mm, both sides of 90 mm of air",
            plies: vec![
                layer(GYPSUM_PLASTER, 20.0),
                layer(SOFTWOOD, 8.0),
                upright(0.09, 0.9),
                layer(SOFTWOOD, 8.0),
                layer(GYPSUM_PLASTER, 20.0),
            ],
            emissivity_fire: 0.9,
            emissivity_room: 0.9,
            sources: PAINTED,
            note: "A fire inside or behind such a wall does not show for a long time.",
        },
        Assembly {
            name: "brick",
            title: "brick wall, 102 mm",
            plies: vec![layer(BRICK, 102.0)],
            emissivity_fire: 0.93,
            emissivity_room: 0.93,
            sources: "brick 0.93 to 0.96: Incropera, table A.11, from memory, not seen; 0.944 by an \
                      infrared thermometer: Chen and Chen 2016 (seen)",
            note: "Heat needs the better part of an hour to show, if it ever does.",
        },
        Assembly {
            name: "concrete",
            title: "concrete wall, 150 mm",
            plies: vec![layer(CONCRETE, 150.0)],
            emissivity_fire: 0.9,
            emissivity_room: 0.9,
            sources: "concrete 0.88 to 0.93: Incropera, table A.11, from memory, not seen",
            note: "Heat behind it does not show in the time an attack lasts.",
        },
        Assembly {
            name: "timber-door",
            title: "solid timber door, 44 mm of softwood",
            plies: vec![layer(SOFTWOOD, 44.0)],
            emissivity_fire: 0.9,
            emissivity_room: 0.9,
            sources: "wood 0.82 to 0.92: Incropera, table A.11, from memory, not seen; 0.902 by an \
                      infrared thermometer: Chen and Chen 2016 (seen)",
            note: "Heat shows at its gaps and hinges long before the leaf itself warms.",
        },
        Assembly {
            name: "window",
            title: "window pane, 4 mm of soda-lime glass",
            plies: vec![layer(GLASS, 4.0)],
            emissivity_fire: 0.84,
            emissivity_room: 0.84,
            sources: "soda-lime glass 0.837, hemispherical, total: Rubin 1985 (seen)",
            note: "Opaque to the imager: it shows the glass and what the glass mirrors, not the room behind.",
        },
        Assembly {
            name: "ceiling-plasterboard",
            title: "ceiling of 12.5 mm plasterboard, 300 mm of air, floor of 22 mm softwood above",
            plies: vec![
                layer(PLASTERBOARD, 12.5),
                Ply::Gap {
                    thickness_m: 0.3,
                    emissivities: [0.9; 2],
                    lie: Lie::LevelFireBelow,
                },
                layer(SOFTWOOD, 22.0),
            ],
            emissivity_fire: 0.9,
            emissivity_room: 0.9,
            sources: PAINTED,
            note: "From the floor above a fire below does not show for a long time.",
        },
        Assembly {
            name: "ceiling-tile",
            title: "suspended ceiling of 15 mm mineral tile, seen from below, fire in the void above",
            plies: vec![layer(MINERAL_TILE, 15.0)],
            emissivity_fire: 0.9,
            emissivity_room: 0.9,
            sources: PAINTED,
            note: "Fire that runs in the void shows at the joints first.",
        },
    ]
}

fn build_clothing() -> Vec<Assembly> {
    let layer = |material, mm: f64| Ply::solid(material, mm * 1e-3);
    vec![Assembly {
        name: "turnout-gear",
        title: "turnout gear: outer shell of 0.8 mm, 1 mm of air, lining of 4 mm",
        plies: vec![
            layer(SHELL_CLOTH, 0.8),
            upright(0.001, 0.9),
            layer(BATTING, 4.0),
        ],
        emissivity_fire: 0.9,
        emissivity_room: 0.9,
        sources: "outer shells absorb about 0.90 of radiation of sources of 800 K to 1400 K: \
                      hal-01417213 (seen)",
        note: "No barrier and no picture: it shows how the model treats cloth. The minutes are no \
                   protection time.",
    }]
}

static LIBRARY: LazyLock<Vec<Assembly>> = LazyLock::new(build);
static CLOTHING: LazyLock<Vec<Assembly>> = LazyLock::new(build_clothing);

/// All assemblies that a fire can stand behind, in the order in which they are shown.
#[must_use]
pub fn assembly_library() -> &'static [Assembly] {
    &LIBRARY
}

/// Clothing, which is computed like an assembly and is none: nobody looks at its inner face through an
/// imager, and when that face reaches a temperature is no protection time.
#[must_use]
pub fn clothing_library() -> &'static [Assembly] {
    &CLOTHING
}

/// The assembly of this name, clothing included.
///
/// # Errors
/// [`UnknownAssembly`], which lists the names there are and the nearest one.
///
/// ```
/// use glowsill::world::conduction::assembly;
/// assert_eq!(assembly("brick").unwrap().plies.len(), 1);
/// assert!(assembly("straw").unwrap_err().to_string().contains("plaster-lath"));
/// assert!(assembly("steel-shet").unwrap_err().to_string().contains("did you mean steel-sheet?"));
/// ```
pub fn assembly(name: &str) -> Result<&'static Assembly, UnknownAssembly> {
    let mut all = assembly_library().iter().chain(clothing_library());
    all.find(|assembly| assembly.name == name).ok_or_else(|| {
        let known: Vec<&str> = assembly_library()
            .iter()
            .chain(clothing_library())
            .map(|assembly| assembly.name)
            .collect();
        UnknownAssembly {
            name: name.to_owned(),
            meant: nearest(name, &known)
                .map_or_else(String::new, |near| format!("; did you mean {near}?")),
            known: known.join(", "),
        }
    })
}
