//! The path of the imager: its times, and that it leads through rooms, not through walls and bodies.

use glam::DVec3;

use super::{Checked, Checks, extent, point};
use crate::world::scene::body::Placement;

/// An imager is no thinner than this around its lens, metres.
const IMAGER_M: f64 = 0.1;

impl Checks<'_> {
    pub(super) fn imager(&self) -> Checked {
        for (number, key) in (1_usize..).zip(&self.spec.path) {
            let at = |field: &str| format!("imager[{number}].{field}");
            let before = number.checked_sub(2).and_then(|i| self.spec.path.get(i));
            if key.at_s > self.spec.duration_s {
                return self.refuse(
                    &at("at"),
                    "is after the end",
                    format!("a time up to the duration, {} s", self.spec.duration_s),
                    "Give an earlier time, or raise 'duration'",
                );
            }
            if let Some(before) = before
                && key.at_s <= before.at_s
            {
                return self.refuse(
                    &at("at"),
                    format!("is not after the key before it, {} s", before.at_s),
                    "times that rise from key to key",
                    "Put the keys in order of time, and give each its own 'at'",
                );
            }
            if (key.look_at - key.position).truncate().length() < 0.05 {
                return self.refuse(
                    &at("look_at"),
                    "is straight above, below or at the imager",
                    "a place at least 0.05 m away, seen from above",
                    "Choose a place before the imager",
                );
            }
            self.clear_of_walls(&at("position"), key.position)?;
        }
        let Some(last) = self.spec.path.last() else {
            return self.refuse(
                "imager",
                "has no key",
                "one or more [[imager]]",
                "Add [[imager]] with position and look_at",
            );
        };
        // Between keys the imager moves through walls and bodies too.
        let steps = u32::try_from(self.spec.path.len() * 50).unwrap_or(50);
        for step in 0..=steps {
            let t_s = last.at_s * f64::from(step) / f64::from(steps);
            let number = self.spec.path.partition_point(|key| key.at_s < t_s).max(1);
            let path = format!("imager[{}].position", number.min(self.spec.path.len()));
            let at = self.spec.imager(t_s).position;
            self.clear_of_bodies(&path, at, t_s)?;
            if self.spec.room_at(at).is_none() {
                return self.refuse(
                    &path,
                    format!("leads through a wall at {t_s:.0} s, {}", point(at)),
                    "a path inside rooms that touch",
                    "Add a key that leads around the wall",
                );
            }
        }
        Ok(())
    }

    fn clear_of_walls(&self, path: &str, at: DVec3) -> Checked {
        if self.spec.rooms.iter().any(|room| room.holds(at, IMAGER_M)) {
            return Ok(());
        }
        if self.spec.room_at(at).is_some() {
            return self.refuse(
                path,
                "puts the imager into a wall, floor or ceiling",
                format!("a place at least {IMAGER_M} m from them"),
                "Move it away from the wall",
            );
        }
        self.inside_a_room(path, at, "the imager")
    }

    fn clear_of_bodies(&self, path: &str, at: DVec3, t_s: f64) -> Checked {
        for object in &self.spec.objects {
            let (low, high) = extent(&object.shape);
            let turned = Placement::at(object.position.x, object.position.y, object.position.z)
                .yaw(object.turn_deg)
                .pitch(object.lean_deg);
            let own = turned.to_world().inverse().transform_point3(at);
            if own.cmpge(low).all() && own.cmple(high).all() {
                return self.refuse(
                    path,
                    format!(
                        "puts the imager into '{}' at {t_s:.0} s, {}",
                        object.name,
                        point(at)
                    ),
                    "a place outside every body",
                    "Move the imager or the body",
                );
            }
        }
        Ok(())
    }
}
