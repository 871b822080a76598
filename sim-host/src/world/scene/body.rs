//! A body: a shape at a place, with a surface and a temperature.

use std::fmt;
use std::sync::Arc;

use glam::{DAffine3, DMat3, DVec3};

use super::noise::noise;
use super::shape::{Posture, Region, Shape};

/// How a surface emits and reflects in the band.
///
/// Surfaces are opaque: what is not emitted is reflected (Kirchhoff), 1 − `emissivity` of what
/// arrives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// Emissivity in the band, 0 to 1.
    pub emissivity: f64,
    /// Share of the reflected part that is mirrored, 0 to 1; the rest is spread evenly (Lambert).
    pub mirror: f64,
}

impl Surface {
    /// A black body.
    pub const BLACK: Self = Self::matt(1.0);
    /// Human skin: 0.98 (Steketee, Phys. Med. Biol. 18:686, 1973).
    pub const SKIN: Self = Self::matt(0.98);
    /// Outer shell of turnout gear: about 0.90 (mean absorptivity, Université de Lorraine,
    /// hal-01417213).
    pub const TURNOUT: Self = Self::matt(0.9);
    /// Cotton clothing: 0.80 by infrared thermometer (Chen and Chen, Constr. Build. Mater. 126:130,
    /// 2016).
    pub const COTTON: Self = Self::matt(0.8);
    /// Painted gypsum board: 0.90 (building references, from memory).
    pub const PAINTED_WALL: Self = Self::matt(0.9);
    /// Wood: 0.90 (Chen and Chen 2016).
    pub const WOOD: Self = Self::matt(0.9);
    /// Brick: 0.94 (Chen and Chen 2016).
    pub const BRICK: Self = Self::matt(0.94);
    /// Concrete: 0.91, the middle of 0.88 to 0.93 (Incropera table A.11, from memory).
    pub const CONCRETE: Self = Self::matt(0.91);
    /// Oxidised steel: 0.78, the middle of 0.75 to 0.80 (handbooks, from memory).
    pub const OXIDISED_STEEL: Self = Self::matt(0.78);
    /// Painted steel sheet: 0.90 (paint; Incropera table A.11, from memory); a tenth of what it
    /// reflects is assumed to be mirrored.
    pub const PAINTED_STEEL: Self = Self {
        emissivity: 0.9,
        mirror: 0.1,
    };
    /// Galvanised steel: 0.25, the middle of 0.2 to 0.3 (handbooks, from memory); half of what it
    /// reflects is assumed to be mirrored.
    pub const GALVANISED_STEEL: Self = Self {
        emissivity: 0.25,
        mirror: 0.5,
    };
    /// Polished steel: 0.08, the middle of 0.07 to 0.10 (handbooks, from memory).
    pub const POLISHED_STEEL: Self = Self {
        emissivity: 0.08,
        mirror: 1.0,
    };
    /// Window glass: 0.84 (Rubin 1985, LBL-13572), opaque in the band; the rest is mirrored.
    pub const GLASS: Self = Self {
        emissivity: 0.84,
        mirror: 1.0,
    };

    /// A surface that mirrors nothing.
    #[must_use]
    pub const fn matt(emissivity: f64) -> Self {
        Self {
            emissivity,
            mirror: 0.0,
        }
    }
}

/// A temperature in kelvin for every point of a body, at one instant.
pub type Field = Arc<dyn Fn(DVec3) -> f64 + Send + Sync>;

/// True temperature over the surface of a body, at one instant.
#[derive(Clone)]
pub enum Skin {
    /// The same everywhere, kelvin.
    Uniform(f64),
    /// Kelvin at a point of the surface, given **in the body's own frame** (before its placement),
    /// in m.
    Field(Field),
}

impl fmt::Debug for Skin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Uniform(kelvin) => write!(f, "Uniform({kelvin} K)"),
            Self::Field(_) => write!(f, "Field(..)"),
        }
    }
}

/// Goes from 0 at 0 to 1 at 1 with level ends; 0 below and 1 above.
pub(super) fn smooth(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

impl Skin {
    /// A field from a function of the point in the body's own frame.
    #[must_use]
    pub fn field(kelvin: impl Fn(DVec3) -> f64 + Send + Sync + 'static) -> Self {
        Self::Field(Arc::new(kelvin))
    }

    /// From `bottom_k` at height 0 to `top_k` at `height_m`, in a straight line.
    #[must_use]
    pub fn rising(bottom_k: f64, top_k: f64, height_m: f64) -> Self {
        Self::field(move |p| bottom_k + (top_k - bottom_k) * (p.z / height_m).clamp(0.0, 1.0))
    }

    /// `base_k`, and around a point a bell of `peak_k` that falls to 1/e at `radius_m`.
    ///
    /// Such as the patch that a plume heats on a ceiling.
    ///
    /// ```
    /// use glam::DVec3;
    /// use glowsill::world::scene::body::Skin;
    /// let skin = Skin::patch(293.15, 393.15, DVec3::ZERO, 0.5);
    /// assert_eq!(skin.kelvin(DVec3::ZERO), 393.15);
    /// // 293.15 + 100 / e
    /// assert!((skin.kelvin(DVec3::X * 0.5) - 329.938).abs() < 1e-3);
    /// ```
    #[must_use]
    pub fn patch(base_k: f64, peak_k: f64, centre: DVec3, radius_m: f64) -> Self {
        Self::field(move |p| {
            base_k + (peak_k - base_k) * (-p.distance_squared(centre) / (radius_m * radius_m)).exp()
        })
    }

    /// `cavity_k` between upright studs, `stud_k` over them; the studs are `stud_m` wide, `spacing_m`
    /// from middle to middle, one stands at x = 0, and their edges are blurred over `blur_m`.
    #[must_use]
    pub fn studs(cavity_k: f64, stud_k: f64, spacing_m: f64, stud_m: f64, blur_m: f64) -> Self {
        Self::field(move |p| {
            let off = (p.x - spacing_m * (p.x / spacing_m).round()).abs() - stud_m / 2.0;
            stud_k + (cavity_k - stud_k) * smooth(off / blur_m + 0.5)
        })
    }

    /// `mean_k` with smooth seeded spots of about `size_m` that differ by up to `swing_k`, such as
    /// folds of clothing.
    #[must_use]
    pub fn mottled(mean_k: f64, swing_k: f64, size_m: f64, seed: u64) -> Self {
        Self::field(move |p| mean_k + swing_k * noise(p / size_m, seed))
    }

    /// Kelvin at a point in the body's own frame.
    #[must_use]
    pub fn kelvin(&self, at: DVec3) -> f64 {
        match self {
            Self::Uniform(kelvin) => *kelvin,
            Self::Field(field) => field(at),
        }
    }
}

/// Where a body stands and how it is turned.
///
/// First `roll` about y, then `pitch` about x, then `yaw` about z, then the move to `position`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Where the origin of the body's frame lies in the world, m.
    pub position: DVec3,
    /// Turn to the left seen from above, degrees.
    pub yaw_deg: f64,
    /// Turn about the x axis, degrees; a positive pitch leans an upright body towards −y.
    pub pitch_deg: f64,
    /// Turn about the y axis, degrees; a positive roll leans an upright body towards +x.
    pub roll_deg: f64,
}

impl Placement {
    /// At a point, not turned.
    #[must_use]
    pub fn at(x: f64, y: f64, z: f64) -> Self {
        Self {
            position: DVec3::new(x, y, z),
            yaw_deg: 0.0,
            pitch_deg: 0.0,
            roll_deg: 0.0,
        }
    }

    /// Turned to the left seen from above, in degrees.
    #[must_use]
    pub fn yaw(self, yaw_deg: f64) -> Self {
        Self { yaw_deg, ..self }
    }

    /// Leant towards −y, in degrees.
    #[must_use]
    pub fn pitch(self, pitch_deg: f64) -> Self {
        Self { pitch_deg, ..self }
    }

    /// Leant towards +x, in degrees.
    #[must_use]
    pub fn roll(self, roll_deg: f64) -> Self {
        Self { roll_deg, ..self }
    }

    /// The move from the body's own frame into the world.
    ///
    /// ```
    /// use glam::DVec3;
    /// use glowsill::world::scene::body::Placement;
    /// let turned = Placement::at(1.0, 2.0, 0.0).yaw(90.0).to_world();
    /// // +x of the body points along +y of the world.
    /// assert!((turned.transform_point3(DVec3::X) - DVec3::new(1.0, 3.0, 0.0)).length() < 1e-12);
    /// ```
    #[must_use]
    pub fn to_world(&self) -> DAffine3 {
        let turn = DMat3::from_rotation_z(self.yaw_deg.to_radians())
            * DMat3::from_rotation_x(self.pitch_deg.to_radians())
            * DMat3::from_rotation_y(self.roll_deg.to_radians());
        DAffine3::from_mat3_translation(turn, self.position)
    }
}

/// A part of a body that has a surface and a temperature of its own.
#[derive(Clone, Debug)]
pub struct Detail {
    /// Which part.
    pub region: Region,
    /// Its surface.
    pub surface: Surface,
    /// Its temperature.
    pub temperature: Skin,
}

/// Something solid in a scene.
#[derive(Clone, Debug)]
pub struct Body {
    /// What it is, such as `person` or `ladder`; several bodies may have one name.
    pub name: String,
    /// What it looks like.
    pub shape: Shape,
    /// Where it stands.
    pub placement: Placement,
    /// Surface of all parts without a detail.
    pub surface: Surface,
    /// Temperature of all parts without a detail.
    pub temperature: Skin,
    /// Parts that differ.
    pub details: Vec<Detail>,
}

impl Body {
    /// A body of one uniform temperature in kelvin.
    #[must_use]
    pub fn new(
        name: &str,
        shape: Shape,
        placement: Placement,
        surface: Surface,
        kelvin: f64,
    ) -> Self {
        Self {
            name: name.to_owned(),
            shape,
            placement,
            surface,
            temperature: Skin::Uniform(kelvin),
            details: Vec::new(),
        }
    }

    /// With another temperature over the surface.
    #[must_use]
    pub fn with_skin(mut self, skin: Skin) -> Self {
        self.temperature = skin;
        self
    }

    /// With a part that has a surface and a temperature of its own.
    #[must_use]
    pub fn with_detail(mut self, region: Region, surface: Surface, temperature: Skin) -> Self {
        self.details.push(Detail {
            region,
            surface,
            temperature,
        });
        self
    }

    /// An adult of 1.75 m in everyday clothing in a room of about 20 °C: face 34 °C, hands 32 °C,
    /// clothing 27 to 30 °C, hair 27 °C, shoes 24 °C (common values, no published source).
    #[must_use]
    pub fn adult(name: &str, posture: Posture, placement: Placement) -> Self {
        let celsius = |c: f64| Skin::Uniform(c + 273.15);
        Self::new(
            name,
            Shape::adult(posture),
            placement,
            Surface::COTTON,
            28.8 + 273.15,
        )
        .with_skin(Skin::mottled(28.8 + 273.15, 0.9, 0.12, 11))
        .with_detail(Region::Face, Surface::SKIN, celsius(34.0))
        .with_detail(Region::Hands, Surface::SKIN, celsius(32.0))
        .with_detail(Region::Head, Surface::matt(0.95), celsius(27.0))
        .with_detail(
            Region::Legs,
            Surface::COTTON,
            Skin::mottled(27.5 + 273.15, 0.7, 0.14, 12),
        )
        .with_detail(Region::Feet, Surface::matt(0.93), celsius(24.0))
    }

    /// A firefighter of 1.80 m in turnout gear whose shell has one temperature in kelvin; mask,
    /// gloves, helmet, boots and air cylinder differ from it by a few kelvin (invented).
    #[must_use]
    pub fn firefighter(name: &str, posture: Posture, placement: Placement, shell_k: f64) -> Self {
        let near = |difference: f64| Skin::Uniform(shell_k + difference);
        Self::new(
            name,
            Shape::firefighter(posture),
            placement,
            Surface::TURNOUT,
            shell_k,
        )
        .with_skin(Skin::mottled(shell_k, 0.7, 0.13, 13))
        .with_detail(Region::Face, Surface::matt(0.93), near(5.0))
        .with_detail(Region::Hands, Surface::TURNOUT, near(-1.0))
        .with_detail(Region::Head, Surface::PAINTED_STEEL, near(2.0))
        .with_detail(
            Region::Legs,
            Surface::TURNOUT,
            Skin::mottled(shell_k - 1.2, 0.6, 0.14, 14),
        )
        .with_detail(Region::Feet, Surface::matt(0.93), near(-2.5))
        .with_detail(Region::AirCylinder, Surface::PAINTED_STEEL, near(-5.0))
    }
}
