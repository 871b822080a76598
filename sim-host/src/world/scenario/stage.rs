//! A scenario whose heat is computed, and the scene that shows it.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::air::{Air, State};
use super::build::{Built, Panel, Thing, build};
use super::faces::{History, histories, kelvin_at};
use super::spec::Spec;
use super::{Scenario, ScenarioError, told};
use crate::world::image::Image;
use crate::world::rounding::count_f64;
use crate::world::scene::body::Body;
use crate::world::scene::camera::Camera;
use crate::world::scene::caster::Caster;
use crate::world::scene::{Scene, View};

/// A scenario whose temperatures are computed: a scene.
pub struct Staged {
    pub(super) spec: Spec,
    pub(super) fire: Option<Air>,
    pub(super) panels: Vec<Panel>,
    pub(super) things: Vec<Thing>,
    pub(super) still: Vec<Body>,
    pub(super) zones: Vec<History>,
    warnings: Vec<String>,
    unseen: Vec<String>,
    caster: Caster,
}

impl Staged {
    pub(super) fn new(
        scenario: &Scenario,
        progress: &(dyn Fn(f64) + Sync),
    ) -> Result<Self, ScenarioError> {
        let spec = scenario.spec.clone();
        let fire = Air::new(&spec);
        let Built {
            zones,
            panels,
            things,
            still,
        } = build(&spec, fire.as_ref());
        let since_s = spec
            .objects
            .iter()
            .filter_map(|one| one.ember.as_ref())
            .map(|ember| ember.since_s)
            .fold(0.0, f64::max);
        let done = AtomicUsize::new(0);
        let all = count_f64(zones.len().max(1));
        let tick = || progress(count_f64(done.fetch_add(1, Ordering::Relaxed) + 1) / all);
        let histories =
            histories(&spec, fire.as_ref(), &zones, since_s, &tick).map_err(|(at_s, cause)| {
                ScenarioError::Heat {
                    scenario: spec.title.clone(),
                    what: "a wall or body".to_owned(),
                    at_s,
                    cause,
                }
            })?;
        Ok(Self {
            warnings: fire
                .as_ref()
                .map_or_else(Vec::new, |fire| fire.warnings.clone()),
            unseen: told::unseen(&spec, &camera(&spec, 0.0)),
            spec,
            fire,
            panels,
            things,
            still,
            zones: histories,
            caster: Caster::new(),
        })
    }

    /// The scenario that was staged.
    #[must_use]
    pub fn spec(&self) -> &Spec {
        &self.spec
    }

    /// How long it is, seconds.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.spec.duration_s
    }

    /// Limits of the model that were left, one sentence each.
    #[must_use]
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    /// Columns and rows.
    #[must_use]
    pub fn size(&self) -> (usize, usize) {
        self.spec.size
    }

    /// Fire and layer at an instant; `None` without a fire.
    #[must_use]
    pub fn fire_state(&self, t_s: f64) -> Option<State> {
        self.fire.as_ref().map(|fire| fire.state(t_s))
    }

    /// Greatest and least true temperature of a wall (`room.side`), an opening or an object at an
    /// instant, kelvin, by its zones; `None` for a name that there is not.
    #[must_use]
    pub fn range_k(&self, name: &str, t_s: f64) -> Option<(f64, f64)> {
        let panel = self.panels.iter().find(|panel| panel.body.name == name);
        let zones = match panel {
            Some(panel) => panel.first..panel.first + panel.columns * panel.rows,
            None => {
                let thing = self.things.iter().find(|thing| thing.body.name == name)?;
                thing.first..thing.first + 6 + usize::from(thing.ember.is_some())
            }
        };
        let kelvin = self.zones[zones]
            .iter()
            .map(|history| kelvin_at(history, self.spec.step_s, t_s));
        Some(
            kelvin.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), k| {
                (low.min(k), high.max(k))
            }),
        )
    }

    /// The imager at an instant, in seconds.
    #[must_use]
    pub fn camera(&self, t_s: f64) -> Camera {
        camera(&self.spec, t_s)
    }

    /// The scene at an instant, in seconds. While the imager stands still, what its rays meet is kept
    /// from call to call, which changes no bit of the picture.
    #[must_use]
    pub fn view_at(&self, t_s: f64) -> View {
        let world = self.world(t_s);
        let seen = self.caster.cast(&world, &self.camera(t_s));
        let names: Vec<&str> = self.spec.marks.iter().map(String::as_str).collect();
        View {
            marks: seen.marks(&world, &names),
            apparent: seen.apparent,
        }
    }

    /// Seconds of a frame.
    #[must_use]
    pub fn time_of(&self, frame: u32) -> f64 {
        (f64::from(frame) * self.spec.frame_s).min(self.spec.duration_s)
    }
}

fn camera(spec: &Spec, t_s: f64) -> Camera {
    let key = spec.imager(t_s);
    let mut camera = Camera::new(key.position, key.look_at);
    camera.vertical_fov_deg = key.field_of_view_deg;
    (camera.width, camera.height) = spec.size;
    camera
}

impl Scene for Staged {
    fn view(&self, frame: u32) -> View {
        self.view_at(self.time_of(frame))
    }

    fn image(&self, frame: u32) -> Image<f64> {
        let t_s = self.time_of(frame);
        self.caster
            .cast(&self.world(t_s), &self.camera(t_s))
            .apparent
    }

    fn frame_seconds(&self) -> f64 {
        self.spec.frame_s
    }

    fn unseen(&self) -> Vec<String> {
        self.unseen.clone()
    }
}
