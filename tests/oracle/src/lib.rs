//! Independent f64 reference of the display pipeline, written from `docs/pipeline.md` alone.
//!
//! Textbook and slow on purpose: one file a stage, plain types, no fixed point, no sharing with the
//! fixed-point core. Temperatures are apparent, in kelvin; colours are three 8-bit sRGB codes.
//!
//! Simulation and teaching only; not a certification. Apparent is not true temperature.
//!
//! ```
//! use glowsill_oracle::config::{Calibration, Config, GainPlan, ScaleLaw};
//! use glowsill_oracle::Oracle;
//! // Fixed span 200 K to 400 K, high gain only, counts are 1/32 K.
//! let mut config = Config::grey(8, 8, GainPlan::HighOnly, ScaleLaw::Fixed, (200.0, 400.0));
//! config.high = Some(Calibration::identity());
//! let mut oracle = Oracle::new(config);
//! let frame = oracle.frame(Some(&[9600; 64]), None);
//! assert_eq!(frame.temperature[0], Some(300.0));
//! assert_eq!(frame.grey[0], 127.5);
//! ```

pub mod bands;
pub mod config;
pub mod correct;
pub mod exact;
pub mod merge;
pub mod number;
pub mod oracle;
pub mod overlay;
pub mod panel;
pub mod scale;
pub mod statistics;

pub use oracle::{Oracle, OracleFrame, Record};
