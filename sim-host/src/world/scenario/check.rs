//! What makes sense only beside something else: geometry, names and times of a scenario.

mod imager;

use glam::DVec3;

use super::spec::{Side, Spec};
use crate::profile_file::ProfileFileError;
use crate::profile_file::source::{Places, nearest};
use crate::world::scene::shape::Shape;

type Checked = Result<(), ProfileFileError>;

struct Checks<'a> {
    spec: &'a Spec,
    places: &'a Places,
    file: &'a str,
}

/// Checks a whole scenario, in the order of the file's sections.
pub(super) fn all(spec: &Spec, places: &Places, file: &str) -> Checked {
    let checks = Checks { spec, places, file };
    checks.rooms()?;
    checks.openings()?;
    checks.objects()?;
    checks.fire()?;
    checks.sprays()?;
    checks.imager()?;
    checks.marks()
}

/// Wall of a room that an opening or a cell lies in: its length and height.
pub(super) fn wall_size(side: Side, size: DVec3) -> (f64, f64) {
    match side {
        Side::Left | Side::Right => (size.y, size.z),
        Side::Front | Side::Back => (size.x, size.z),
        Side::Floor | Side::Ceiling => (size.x, size.y),
    }
}

impl Checks<'_> {
    fn refuse(
        &self,
        path: &str,
        problem: impl AsRef<str>,
        allowed: impl AsRef<str>,
        next: &str,
    ) -> Checked {
        Err(self
            .places
            .refuse(self.file, path, problem.as_ref(), allowed.as_ref(), next))
    }

    fn unique<'n>(
        &self,
        kind: &str,
        names: impl Iterator<Item = &'n str>,
        taken: &mut Vec<String>,
    ) -> Checked {
        for (number, name) in (1..).zip(names) {
            if taken.iter().any(|one| one == name) {
                return self.refuse(
                    &format!("{kind}[{number}].name"),
                    "is the name of something else already",
                    "a name of its own for every room, opening and object",
                    "Give it another name",
                );
            }
            taken.push(name.to_owned());
        }
        Ok(())
    }

    fn rooms(&self) -> Checked {
        let spec = self.spec;
        let mut taken = Vec::new();
        self.unique(
            "rooms",
            spec.rooms.iter().map(|one| one.name.as_str()),
            &mut taken,
        )?;
        self.unique(
            "openings",
            spec.openings.iter().map(|one| one.name.as_str()),
            &mut taken,
        )?;
        self.unique(
            "objects",
            spec.objects.iter().map(|one| one.name.as_str()),
            &mut taken,
        )?;
        for (number, room) in (1_usize..).zip(&spec.rooms) {
            for other in &spec.rooms[..number - 1] {
                let (low, high) = (room.corner.max(other.corner), room.far().min(other.far()));
                if (high - low).cmpgt(DVec3::splat(1e-6)).all() {
                    return self.refuse(
                        &format!("rooms[{number}].corner"),
                        format!("lets the room overlap '{}'", other.name),
                        format!(
                            "rooms that lie apart or touch; '{}' reaches from {} to {}",
                            other.name,
                            point(other.corner),
                            point(other.far())
                        ),
                        "Move the corner or change the size",
                    );
                }
            }
        }
        Ok(())
    }

    fn openings(&self) -> Checked {
        for (number, one) in (1_usize..).zip(&self.spec.openings) {
            let at = |key: &str| format!("openings[{number}].{key}");
            let Some(room) = self.spec.rooms.iter().find(|room| room.name == one.room) else {
                let names: Vec<_> = self.spec.rooms.iter().map(|r| r.name.as_str()).collect();
                return self.refuse(
                    &at("room"),
                    format!("names no room{}", meant(&one.room, &names)),
                    names.join(", "),
                    "Write the name of a room, or add the room",
                );
            };
            let (length, height) = wall_size(one.side, room.size);
            if one.from_m + one.width_m > length + 1e-9 {
                return self.refuse(
                    &at("width"),
                    format!("lets the opening end at {:.2} m", one.from_m + one.width_m),
                    format!("an end within the wall, which is {length:.2} m long"),
                    "Lower 'width' or 'from'",
                );
            }
            if one.sill_m + one.height_m > height + 1e-9 {
                return self.refuse(
                    &at("height"),
                    format!("lets the opening end at {:.2} m", one.sill_m + one.height_m),
                    format!("an end within the wall, which is {height:.2} m high"),
                    "Lower 'height' or 'sill'",
                );
            }
            for other in &self.spec.openings[..number - 1] {
                let beside = one.from_m + one.width_m <= other.from_m
                    || other.from_m + other.width_m <= one.from_m;
                let over = one.sill_m + one.height_m <= other.sill_m
                    || other.sill_m + other.height_m <= one.sill_m;
                if other.room == one.room && other.side == one.side && !beside && !over {
                    return self.refuse(
                        &at("from"),
                        format!("lets the opening overlap '{}'", other.name),
                        "openings that lie apart",
                        "Move one of them",
                    );
                }
            }
        }
        Ok(())
    }

    fn inside_a_room(&self, path: &str, at: DVec3, what: &str) -> Checked {
        if self.spec.room_at(at).is_some() {
            return Ok(());
        }
        let rooms: Vec<_> = self
            .spec
            .rooms
            .iter()
            .map(|room| {
                format!(
                    "'{}' from {} to {}",
                    room.name,
                    point(room.corner),
                    point(room.far())
                )
            })
            .collect();
        self.refuse(
            path,
            format!("puts {what} outside every room"),
            format!("a place in {}", rooms.join(", ")),
            "Move it into a room, or change the room",
        )
    }

    fn objects(&self) -> Checked {
        for (number, object) in (1..).zip(&self.spec.objects) {
            let at = |key: &str| format!("objects[{number}].{key}");
            self.inside_a_room(&at("position"), object.position, "the object")?;
        }
        Ok(())
    }

    fn fire(&self) -> Checked {
        let Some(fire) = &self.spec.fire else {
            return Ok(());
        };
        self.inside_a_room("fire.position", fire.position, "the fire")?;
        if let Some(down) = fire.knocked_down_s
            && down <= fire.start_s
        {
            return self.refuse(
                "fire.knocked_down",
                format!("is not after the start at {} s", fire.start_s),
                format!("a time after {} s", fire.start_s),
                "Let the fire start earlier, or knock it down later",
            );
        }
        if fire.start_s > self.spec.duration_s {
            return self.refuse(
                "fire.starts",
                "is after the end",
                format!("a time up to the duration, {} s", self.spec.duration_s),
                "Let the fire start earlier, or raise 'duration'",
            );
        }
        Ok(())
    }

    /// Names that water can fall on and that a mark can follow.
    fn surfaces(&self) -> Vec<String> {
        let walls = self.spec.rooms.iter().flat_map(|room| {
            Side::ALL
                .iter()
                .map(move |(word, _)| format!("{}.{word}", room.name))
        });
        let openings = self.spec.openings.iter().map(|one| one.name.clone());
        let objects = self.spec.objects.iter().map(|one| one.name.clone());
        walls.chain(openings).chain(objects).collect()
    }

    fn sprays(&self) -> Checked {
        let names = self.surfaces();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        for (number, spray) in (1..).zip(&self.spec.sprays) {
            if !names.contains(&spray.on.as_str()) {
                return self.refuse(
                    &format!("sprays[{number}].on"),
                    format!("names nothing{}", meant(&spray.on, &names)),
                    names.join(", "),
                    "Write one of these names",
                );
            }
            if spray.until_s <= spray.from_s || spray.from_s > self.spec.duration_s {
                let key = if spray.from_s > self.spec.duration_s {
                    "from"
                } else {
                    "until"
                };
                return self.refuse(
                    &format!("sprays[{number}].{key}"),
                    format!(
                        "gives a spray from {} s to {} s",
                        spray.from_s, spray.until_s
                    ),
                    format!(
                        "from a time up to the duration, {} s, until a later one",
                        self.spec.duration_s
                    ),
                    "Correct 'from' and 'until'",
                );
            }
        }
        Ok(())
    }

    fn marks(&self) -> Checked {
        let names: Vec<&str> = self
            .spec
            .objects
            .iter()
            .map(|one| one.name.as_str())
            .chain(self.spec.openings.iter().map(|one| one.name.as_str()))
            .collect();
        for mark in &self.spec.marks {
            if !names.contains(&mark.as_str()) {
                return self.refuse(
                    "marks",
                    format!(
                        "holds \"{mark}\", which names nothing{}",
                        meant(mark, &names)
                    ),
                    names.join(", "),
                    "Write the name of an object or opening",
                );
            }
        }
        Ok(())
    }
}

fn meant(written: &str, known: &[&str]) -> String {
    nearest(written, known).map_or_else(String::new, |near| format!("; did you mean \"{near}\"?"))
}

fn point(at: DVec3) -> String {
    format!("[{:.2}, {:.2}, {:.2}] m", at.x, at.y, at.z)
}

/// Lowest and highest corner of a box around a shape in its own frame; roomy for persons.
pub(super) fn extent(shape: &Shape) -> (DVec3, DVec3) {
    let standing = |size: DVec3| {
        let half = DVec3::new(size.x / 2.0, size.y / 2.0, 0.0);
        (-half, half + DVec3::Z * size.z)
    };
    let round = |radius: f64, height: f64| standing(DVec3::new(2.0 * radius, 2.0 * radius, height));
    match shape {
        Shape::Box { size }
        | Shape::Crate { size }
        | Shape::Rack { size, .. }
        | Shape::Bench { size } => standing(*size),
        Shape::Cylinder {
            radius_m, length_m, ..
        } => round(*radius_m, *length_m),
        Shape::Cone {
            base_radius_m,
            height_m,
            ..
        } => round(*base_radius_m, *height_m),
        Shape::Sphere { radius_m } => (DVec3::splat(-radius_m), DVec3::splat(*radius_m)),
        Shape::GasCylinder { radius_m, height_m } => round(*radius_m, *height_m),
        Shape::Person {
            height_m, posture, ..
        } => {
            use crate::world::scene::shape::Posture;
            let h = *height_m;
            match posture {
                Posture::Standing => round(0.15 * h, h),
                Posture::Kneeling => round(0.25 * h, 0.75 * h),
                Posture::Crawling => standing(DVec3::new(0.8 * h, 0.4 * h, 0.5 * h)),
                Posture::Lying => standing(DVec3::new(h, 0.5 * h, 0.25 * h)),
            }
        }
        Shape::Ladder {
            length_m, width_m, ..
        } => standing(DVec3::new(*width_m, 0.08, *length_m)),
        Shape::PipeRun { points, radius_m } => {
            let low = points.iter().copied().fold(DVec3::INFINITY, DVec3::min);
            let high = points.iter().copied().fold(DVec3::NEG_INFINITY, DVec3::max);
            (low - *radius_m, high + *radius_m)
        }
        _ => (DVec3::ZERO, DVec3::ZERO),
    }
}
