//! Scenes in front of a simulated sensor: what arrives when nothing is wrong.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock};

use glowsill::run::calibration;
use glowsill::world::image::Image;
use glowsill::world::scene::Scene as _;
use glowsill::world::sensor::{Sensor, SensorModel};
use glowsill::world::target::Workshop;
use glowsill_core::calibration::Calibration;
use glowsill_core::pipeline::Geometry;

/// Frames of a scene that are kept; they follow each other in a circle.
pub const KEPT: usize = 20;

/// What stands in front of the sensor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Scene {
    /// A room at 20 °C (68 °F) in which nothing moves: only noise tells it from a frozen picture.
    StillRoom,
    /// The scenery workshop with a burning waste bin that grows.
    Workshop,
    /// A layer of 500 °C (932 °F) that billows over the upper third, 60 °C (140 °F) below it.
    HotLayer,
    /// Outdoors at -23 °C (-9 °F), a person walks by.
    Cold,
    /// 550 °C to 630 °C (1022 °F to 1166 °F) everywhere: above all that high gain can read.
    Flashover,
}

impl Scene {
    /// Every scene.
    pub const ALL: [Self; 5] = [
        Self::StillRoom,
        Self::Workshop,
        Self::HotLayer,
        Self::Cold,
        Self::Flashover,
    ];

    /// Apparent temperature at a frame, kelvin.
    #[must_use]
    pub fn image(self, (width, height): (usize, usize), frame: usize) -> Image<f64> {
        let share = |at: usize, of: usize| at as f64 / of as f64;
        let t = frame as f64;
        match self {
            Self::StillRoom => Image::from_fn(width, height, |x, y| {
                292.0 + 3.0 * share(x, width) + share(y, height)
            }),
            Self::Workshop => Workshop::new(width, height)
                .with_source(950.0)
                .with_growth(0.02, 0.18, KEPT as u32)
                .image(frame as u32),
            Self::HotLayer => Image::from_fn(width, height, |x, y| {
                let edge = 0.33 + 0.03 * (9.0 * share(x, width) + 0.7 * t).sin();
                if share(y, height) < edge {
                    773.0
                } else {
                    333.0 + 4.0 * share(x, width)
                }
            }),
            Self::Cold => Image::from_fn(width, height, |x, y| {
                let (dx, dy) = (share(x, width) - 0.1 - 0.04 * t, share(y, height) - 0.55);
                let is_person = (dx / 0.06).powi(2) + (dy / 0.35).powi(2) < 1.0;
                if is_person {
                    285.0
                } else {
                    249.0 + 3.0 * share(y, height)
                }
            }),
            Self::Flashover => Image::from_fn(width, height, |x, y| {
                863.0 + 40.0 * (7.0 * share(x, width) + 5.0 * share(y, height) + t).sin()
            }),
        }
    }
}

/// A sensor's tables, and frames of a scene as it takes them.
pub struct Stream {
    /// Size of the picture.
    pub geometry: Geometry,
    /// Calibrations of high and low gain.
    pub calibrations: (Calibration, Calibration),
    /// Gain and offset of each pixel, high gain and low gain.
    pub corrections: [(Vec<u16>, Vec<i16>); 2],
    /// Defect map.
    pub defects: Vec<u8>,
    /// Counts of high and low gain.
    pub frames: Vec<(Vec<u16>, Vec<u16>)>,
}

type Key = (Scene, (usize, usize), u64);

/// The stream of a scene, made once for each key.
#[must_use]
pub fn stream(scene: Scene, size: (usize, usize), seed: u64) -> Arc<Stream> {
    static MADE: OnceLock<Mutex<HashMap<Key, Arc<Stream>>>> = OnceLock::new();
    let made = MADE.get_or_init(Mutex::default);
    let key = (scene, size, seed);
    if let Some(stream) = made.lock().unwrap().get(&key) {
        return Arc::clone(stream);
    }
    let stream = Arc::new(expose(scene, size, seed, KEPT));
    made.lock().unwrap().insert(key, Arc::clone(&stream));
    stream
}

/// Takes so many frames of a scene, each with its own noise.
#[must_use]
pub fn expose(scene: Scene, (width, height): (usize, usize), seed: u64, frames: usize) -> Stream {
    let mut sensor = Sensor::new(SensorModel::default(), width, height, seed).unwrap();
    let (high, low) = sensor.model().calibrations().unwrap();
    let owned = |(gain, offset): (&[u16], &[i16])| (gain.to_vec(), offset.to_vec());
    Stream {
        geometry: Geometry::new(width as u16, height as u16).unwrap(),
        calibrations: (calibration(&high).unwrap(), calibration(&low).unwrap()),
        corrections: [
            owned(sensor.correction_high()),
            owned(sensor.correction_low()),
        ],
        defects: sensor.defects().to_vec(),
        frames: (0..frames)
            .map(|frame| {
                let exposure = sensor.expose(&scene.image((width, height), frame)).unwrap();
                (exposure.high, exposure.low)
            })
            .collect(),
    }
}
