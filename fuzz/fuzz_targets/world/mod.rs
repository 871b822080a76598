//! The few files of the host that read recordings, without the rest of it.

#[path = "../../../sim-host/src/world/image.rs"]
pub mod image;
#[path = "../../../sim-host/src/world/radiometry/mod.rs"]
pub mod radiometry;
#[path = "../../../sim-host/src/world/recording/mod.rs"]
pub mod recording;
#[path = "../../../sim-host/src/world/rounding.rs"]
pub(crate) mod rounding;
#[path = "../../../sim-host/src/world/sensor/mod.rs"]
pub mod sensor;
