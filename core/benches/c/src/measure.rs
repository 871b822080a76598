//! Holds the forms against each other, then times them in turn.

use std::hint::black_box;
use std::time::{Duration, Instant};

use glowsill_core::health::HealthPlan;
use glowsill_core::panel::PanelRgb565;
use glowsill_core::pipeline::{CountTables, Geometry, Pipeline, SensorConfig};
use glowsill_core::profile::Profile;

use crate::plain_c::PlainC;
use crate::scene::Scene;

/// Frames that are drawn by every form and compared before anything is timed.
pub const COMPARED: usize = 12;

/// A form that is timed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// The core's quick form.
    Quick,
    /// The core's plain form.
    Plain,
    /// `pipeline.c` at -O3.
    C,
    /// Every byte that the steps must read and write, moved without any work on it.
    Floor,
}

impl Form {
    /// Every form, in the order of the table.
    pub const ALL: [Self; 4] = [Self::Quick, Self::Plain, Self::C, Self::Floor];

    /// Name in the table.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Quick => "core, quick form",
            Self::Plain => "core, plain form",
            Self::C => "C, one scalar loop, cc -O3",
            Self::Floor => "floor: 16 bytes a pixel moved",
        }
    }
}

/// Times of one form, a frame each.
#[derive(Clone, Debug)]
pub struct Timing {
    /// Which form.
    pub form: Form,
    /// Times, shortest first.
    times: Vec<Duration>,
    pixels: u32,
}

impl Timing {
    /// Nanoseconds a pixel of the frame that so many quarters of the frames are faster than: 0 is the
    /// fastest, 2 the median, 4 the slowest.
    #[must_use]
    pub fn nanoseconds(&self, quarter: usize) -> f64 {
        let at = (self.times.len().saturating_sub(1)) * quarter / 4;
        let time = self.times.get(at).copied().unwrap_or_default();
        time.as_secs_f64() * 1e9 / f64::from(self.pixels)
    }
}

/// Everything that was found about one profile and size.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// A timing a form, in the order of [`Form::ALL`].
    pub timings: Vec<Timing>,
    /// Share of coloured pixels, thousandths.
    pub coloured_permille: u16,
}

/// Reads every plane and table, reads and writes the bands, writes the picture: 12 bytes in, one in
/// and out, two out, with one addition each, which the compiler may do many at a time.
fn floor(scene: &Scene, frame: &[Vec<u16>; 2], bands: &mut [u8], out: &mut [u16]) {
    let [high, low] = frame;
    let [high_table, low_table] = scene.corrections();
    let planes = high.iter().zip(low);
    let gains = high_table.gain_q14.iter().zip(low_table.gain_q14);
    let offsets = high_table.offset.iter().zip(low_table.offset);
    let tables = gains.zip(offsets);
    for ((out, band), ((h, l), ((hg, lg), (ho, lo)))) in
        out.iter_mut().zip(bands).zip(planes.zip(tables))
    {
        *out = h ^ l ^ hg ^ lg ^ ho.cast_unsigned() ^ lo.cast_unsigned();
        *band ^= 1;
    }
}

/// Draws frames with every form, compares their pixels, then times each form in turn.
///
/// # Errors
/// A text when two forms differ in a pixel, or the profile has what the C form does not.
pub fn compare(
    scene: &Scene,
    profile: &Profile,
    repeats: usize,
    mut progress: impl FnMut(),
) -> Result<Comparison, String> {
    let geometry = Geometry::new(scene.width, scene.height).map_err(|error| error.to_string())?;
    let pixels = scene.pixels();
    let [high_table, low_table] = &scene.calibrations;
    let corrections = scene.corrections();
    let [high_correction, low_correction] = corrections;
    let sensor = SensorConfig {
        high: Some(high_table),
        low: Some(low_table),
        high_correction: Some(high_correction),
        low_correction: Some(low_correction),
        // The same few frames again and again: nothing is stuck.
        health: HealthPlan {
            still_frames: 0,
            ..HealthPlan::DEFAULT
        },
        ..SensorConfig::default()
    };
    let scratch = || vec![0u16; Pipeline::scratch_len(geometry)];
    let (mut quick_memory, mut quick_scratch) = (vec![0u8; pixels], scratch());
    let (mut plain_memory, mut plain_scratch) = (vec![0u8; pixels], scratch());
    let built = |memory, scratch| {
        Pipeline::new(geometry, profile, sensor, memory, scratch).map_err(|error| error.to_string())
    };
    let mut tables = Box::new(CountTables::new());
    let mut quick = built(&mut quick_memory, &mut quick_scratch)?.with_tables(&mut tables);
    let mut plain = built(&mut plain_memory, &mut plain_scratch)?;
    let width = usize::from(scene.width);
    let mut c = PlainC::new(profile, [high_table, low_table], width, pixels)?;
    let (mut wanted, mut out) = (vec![0u16; pixels], vec![0u16; pixels]);
    let mut bands = vec![0u8; pixels];
    let frames = || scene.frames.iter().cycle();
    let mut coloured_permille = 0;

    for (number, frame) in frames().take(COMPARED).enumerate() {
        let [high, low] = frame;
        let record = quick
            .frame::<PanelRgb565>(Some(high), Some(low), &mut wanted)
            .map_err(|error| error.to_string())?;
        if !record.health.is_good() {
            return Err(format!("frame {number}: {:?}", record.health));
        }
        coloured_permille = record.coloured_permille();
        plain
            .frame_plain::<PanelRgb565>(Some(high), Some(low), &mut out, None)
            .map_err(|error| error.to_string())?;
        same(Form::Plain, number, &wanted, &out)?;
        let counted = c.frame([high, low], corrections, &mut out);
        same(Form::C, number, &wanted, &out)?;
        let spot = |code: i32, at: i32| {
            let at = usize::try_from(at).unwrap_or(usize::MAX);
            (i64::from(code), at % width, at / width)
        };
        let seen = |spot: Option<glowsill_core::record::Spot>| {
            spot.map(|s| (i64::from(s.temperature.to_bits()), s.x.into(), s.y.into()))
        };
        let counts = (record.valid, record.coloured, record.disputed);
        let of_c = (counted.valid, counted.coloured, counted.disputed);
        if (
            i64::from(counts.0),
            i64::from(counts.1),
            i64::from(counts.2),
        ) != (of_c.0.into(), of_c.1.into(), of_c.2.into())
            || seen(record.hottest) != Some(spot(counted.hottest, counted.hottest_at))
            || seen(record.coldest) != Some(spot(counted.coldest, counted.coldest_at))
        {
            return Err(format!("frame {number}: {record:?}, but in C {counted:?}"));
        }
    }

    let mut times: [Vec<Duration>; 4] = Default::default();
    for frame in frames().take(repeats) {
        let [high, low] = frame;
        for (form, times) in Form::ALL.into_iter().zip(&mut times) {
            let start = Instant::now();
            match form {
                Form::Quick => {
                    let record = quick.frame::<PanelRgb565>(Some(high), Some(low), &mut out);
                    black_box(&record.map_err(|error| error.to_string())?);
                }
                Form::Plain => {
                    let record =
                        plain.frame_plain::<PanelRgb565>(Some(high), Some(low), &mut out, None);
                    black_box(&record.map_err(|error| error.to_string())?);
                }
                Form::C => {
                    black_box(&c.frame([high, low], corrections, &mut out));
                }
                Form::Floor => floor(scene, frame, &mut bands, &mut out),
            }
            black_box(&mut out);
            times.push(start.elapsed());
        }
        progress();
    }
    let pixels = u32::try_from(pixels).unwrap_or(u32::MAX);
    let timings = Form::ALL.into_iter().zip(times).map(|(form, mut times)| {
        times.sort_unstable();
        Timing {
            form,
            times,
            pixels,
        }
    });
    Ok(Comparison {
        timings: timings.collect(),
        coloured_permille,
    })
}

/// Refuses forms that differ.
fn same(form: Form, frame: usize, wanted: &[u16], found: &[u16]) -> Result<(), String> {
    let differ = wanted.iter().zip(found).filter(|(a, b)| a != b).count();
    match wanted.iter().zip(found).position(|(a, b)| a != b) {
        None => Ok(()),
        Some(at) => Err(format!(
            "frame {frame}: '{}' differs from '{}' in {differ} pixels, first in pixel {at}; nothing \
             was timed",
            form.name(),
            Form::Quick.name()
        )),
    }
}
