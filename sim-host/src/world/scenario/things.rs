//! The kinds of objects a scenario file knows: their keys, shapes, materials and usual surfaces.

use glam::DVec3;

use crate::profile_file::ProfileFileError;
use crate::profile_file::source::{Source, Table};
use crate::world::conduction::library::{
    CONCRETE, GLASS, PLASTERBOARD, SHELL_CLOTH, SOFTWOOD, STEEL,
};
use crate::world::conduction::{self, Assembly, Ply};
use crate::world::rounding::to_u16;
use crate::world::scene::shape::{Axis, Outfit, Posture, Shape};

/// Aluminium alloy; Incropera, table A.1, from memory, not seen.
const ALUMINIUM: conduction::Material = conduction::Material::new(
    "aluminium",
    170.0,
    2700.0,
    900.0,
    "Incropera, table A.1, from memory, not seen",
);
/// Charred sawdust over embers; assumed, of the order of loose sawdust (0.06 W m⁻¹ K⁻¹).
pub(super) const SAWDUST_CHAR: conduction::Material = conduction::Material::new(
    "charred sawdust",
    0.08,
    190.0,
    1300.0,
    "assumed, of the order of loose sawdust",
);

/// What a thing is made of, by the words of the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Material {
    Steel,
    Aluminium,
    Timber,
    Plasterboard,
    Concrete,
    Glass,
    Cloth,
    Sawdust,
}

impl Material {
    pub(super) const WORDS: [(&'static str, Self); 8] = [
        ("steel", Self::Steel),
        ("aluminium", Self::Aluminium),
        ("timber", Self::Timber),
        ("plasterboard", Self::Plasterboard),
        ("concrete", Self::Concrete),
        ("glass", Self::Glass),
        ("cloth", Self::Cloth),
        ("sawdust", Self::Sawdust),
    ];

    pub(super) fn material(self) -> conduction::Material {
        match self {
            Self::Steel => STEEL,
            Self::Aluminium => ALUMINIUM,
            Self::Timber => SOFTWOOD,
            Self::Plasterboard => PLASTERBOARD,
            Self::Concrete => CONCRETE,
            Self::Glass => GLASS,
            Self::Cloth => SHELL_CLOTH,
            Self::Sawdust => SAWDUST_CHAR,
        }
    }
}

/// One layer of a material, its back insulated where it is used.
pub(super) fn single(
    material: conduction::Material,
    thickness_m: f64,
    emissivity: f64,
) -> Assembly {
    Assembly {
        name: "thing",
        title: "one layer",
        plies: vec![Ply::solid(material, thickness_m)],
        emissivity_fire: emissivity,
        emissivity_room: emissivity,
        sources: "as its material",
        note: "",
    }
}

/// Window glass of 4 mm; the same as `window` of the library.
pub(super) fn pane() -> Assembly {
    conduction::assembly("window").map_or_else(|_| single(GLASS, 0.004, 0.84), Clone::clone)
}

/// What a kind of object looks like, with its usual values.
pub(super) struct Form {
    pub(super) shape: Shape,
    pub(super) person: Option<(Posture, Outfit)>,
    pub(super) alive: bool,
    pub(super) material: Material,
    pub(super) thickness_m: f64,
    pub(super) emissivity: f64,
    pub(super) mirror: f64,
    pub(super) warmer_k: f64,
    pub(super) height_m: f64,
}

#[derive(Clone, Copy)]
enum Kind {
    Person,
    Dummy,
    Firefighter,
    Box,
    Cylinder,
    Heap,
    Sphere,
    Ladder,
    Pipe,
    Rack,
    Crate,
    Bench,
    GasCylinder,
}

fn length(
    t: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
    default: f64,
) -> Result<f64, ProfileFileError> {
    if t.takes(key) {
        t.number(s, key, (0.005, 50.0), "m")
    } else {
        Ok(default)
    }
}

fn sizes(
    t: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    default: DVec3,
) -> Result<DVec3, ProfileFileError> {
    if t.takes("size") {
        Ok(DVec3::from_array(t.numbers(
            s,
            "size",
            (0.005, 50.0),
            "m",
        )?))
    } else {
        Ok(default)
    }
}

/// Reads kind and sizes of an object.
pub(super) fn form(t: &mut Table<'_, '_>, s: &mut Source<'_>) -> Result<Form, ProfileFileError> {
    let kind = t.word(
        s,
        "kind",
        &[
            ("person", Kind::Person),
            ("dummy", Kind::Dummy),
            ("firefighter", Kind::Firefighter),
            ("box", Kind::Box),
            ("cylinder", Kind::Cylinder),
            ("heap", Kind::Heap),
            ("sphere", Kind::Sphere),
            ("ladder", Kind::Ladder),
            ("pipe", Kind::Pipe),
            ("rack", Kind::Rack),
            ("crate", Kind::Crate),
            ("bench", Kind::Bench),
            ("gas-cylinder", Kind::GasCylinder),
        ],
    )?;
    let thing = |shape, height_m, material, thickness_m, emissivity, mirror| Form {
        shape,
        person: None,
        alive: false,
        material,
        thickness_m,
        emissivity,
        mirror,
        warmer_k: 0.0,
        height_m,
    };
    Ok(match kind {
        Kind::Person | Kind::Dummy | Kind::Firefighter => person(t, s, kind)?,
        Kind::Box => {
            let size = sizes(t, s, DVec3::ONE)?;
            thing(
                Shape::Box { size },
                size.z,
                Material::Timber,
                0.02,
                0.9,
                0.0,
            )
        }
        Kind::Crate => {
            let size = sizes(t, s, DVec3::splat(0.6))?;
            thing(
                Shape::Crate { size },
                size.z,
                Material::Timber,
                0.018,
                0.9,
                0.0,
            )
        }
        Kind::Bench => {
            let size = sizes(t, s, DVec3::new(1.6, 0.7, 0.9))?;
            thing(
                Shape::Bench { size },
                size.z,
                Material::Timber,
                0.04,
                0.9,
                0.0,
            )
        }
        Kind::Rack => {
            let size = sizes(t, s, DVec3::new(1.8, 0.6, 2.0))?;
            let boards = if t.takes("boards") {
                t.number(s, "boards", (1.0, 20.0), "boards")?
            } else {
                4.0
            };
            let boards = u32::from(to_u16(boards, 1, 20));
            let shape = Shape::Rack { size, boards };
            thing(shape, size.z, Material::Timber, 0.03, 0.9, 0.0)
        }
        Kind::Cylinder => {
            let radius_m = length(t, s, "radius", 0.3)?;
            let length_m = length(t, s, "height", 0.8)?;
            let axis = Axis::Z;
            let shape = Shape::Cylinder {
                radius_m,
                length_m,
                axis,
            };
            thing(shape, length_m, Material::Steel, 0.001, 0.88, 0.1)
        }
        Kind::Heap => {
            let base_radius_m = length(t, s, "radius", 0.3)?;
            let height_m = length(t, s, "height", 0.25)?;
            let shape = Shape::Cone {
                base_radius_m,
                top_radius_m: 0.15 * base_radius_m,
                height_m,
            };
            thing(shape, height_m, Material::Sawdust, 0.05, 0.92, 0.0)
        }
        Kind::Sphere => {
            let radius_m = length(t, s, "radius", 0.2)?;
            let shape = Shape::Sphere { radius_m };
            thing(shape, radius_m, Material::Steel, 0.002, 0.85, 0.1)
        }
        Kind::Ladder => {
            let length_m = length(t, s, "height", 3.0)?;
            let width_m = length(t, s, "width", 0.42)?;
            let shape = Shape::Ladder {
                length_m,
                width_m,
                rung_spacing_m: 0.28,
            };
            thing(shape, length_m, Material::Aluminium, 0.003, 0.35, 0.3)
        }
        Kind::Pipe => {
            let radius_m = length(t, s, "radius", 0.03)?;
            let to = if t.takes("to") {
                DVec3::from_array(t.numbers(s, "to", (-50.0, 50.0), "m")?)
            } else {
                DVec3::new(0.0, 0.0, 2.0)
            };
            let points = vec![DVec3::ZERO, to];
            let shape = Shape::PipeRun { points, radius_m };
            thing(shape, to.z, Material::Steel, 0.003, 0.85, 0.1)
        }
        Kind::GasCylinder => {
            let radius_m = length(t, s, "radius", 0.115)?;
            let height_m = length(t, s, "height", 1.4)?;
            let shape = Shape::GasCylinder { radius_m, height_m };
            thing(shape, height_m, Material::Steel, 0.006, 0.9, 0.1)
        }
    })
}

fn person(t: &mut Table<'_, '_>, s: &mut Source<'_>, kind: Kind) -> Result<Form, ProfileFileError> {
    let posture = t.word(
        s,
        "posture",
        &[
            ("standing", Posture::Standing),
            ("kneeling", Posture::Kneeling),
            ("crawling", Posture::Crawling),
            ("lying", Posture::Lying),
        ],
    )?;
    let height_m = if t.takes("height") {
        t.number(s, "height", (0.6, 2.3), "m")?
    } else {
        1.75
    };
    let turnout = matches!(kind, Kind::Firefighter);
    let outfit = if turnout {
        Outfit::Turnout
    } else {
        Outfit::Everyday
    };
    let alive = !matches!(kind, Kind::Dummy);
    Ok(Form {
        shape: Shape::Person {
            height_m,
            posture,
            outfit,
        },
        person: Some((posture, outfit)),
        alive,
        material: Material::Cloth,
        // Shell of turnout gear with what is under it; clothes over skin; canvas over filling.
        thickness_m: if turnout { 0.004 } else { 0.0025 },
        emissivity: if turnout { 0.9 } else { 0.8 },
        mirror: 0.0,
        warmer_k: match kind {
            Kind::Dummy => 0.0,
            Kind::Firefighter => 5.0,
            _ => 8.5,
        },
        height_m,
    })
}
