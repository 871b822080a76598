//! What `glowsill render` is asked for.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::run::Panel;
use crate::sheet::instant::Instant;

pub(in crate::cli) const EXAMPLES: &str = "\
TARGETS
  uniform    one temperature, 27 °C (80 °F)
  step       27 °C (80 °F), 200 °C (392 °F) from frame 10 on
  ramp       0 °C (32 °F) at the left to 700 °C (1292 °F) at the right
  slow-ramp  uniform, 20 °C (68 °F) to 320 °C (608 °F) in 300 frames
  bars       four bars of 2 K over 27 °C (80 °F)
  edge       edge at 5 degrees, 27 °C (80 °F) to 37 °C (98 °F)
  square     200 °C (392 °F) square on 27 °C (80 °F)
  workshop   scenery workshop with a person, a ladder, a lantern and a burning bin

SCENARIOS
  paint-store-door, timber-rack, loft, three-partitions, ticket-screen, sawdust-bins, or a .toml
  file of your own; `glowsill scenario list` says what each shows. The heat is computed first. Of a
  scenario the display is shown one frame a second, and every frame (30 a second) of the last 3 s
  before each instant.

FILES
  frame-0000.png and so on, frame by frame; or at-0030.00s.png and so on with --at, --every or a
  scenario.
  animation.png, an animated PNG that browsers play, shows the same pictures one after the other
  when there are two or more. Each stands until the next instant, in real time or --speed times
  faster; the last stands as long as the one before it.
  animation.mp4 (--video) loses colours and detail: it is for showing, not for judging.
  records.json names each picture with its frame and seconds, and holds the frame records. What the
  records.json of an earlier run in the same folder lists is replaced or removed.
  Files appear when all is done: an interrupted run leaves the folder as it was.

EXAMPLES
  glowsill render workshop --profile demo-data/profiles/search.toml --frames 60
  glowsill render timber-rack --profile demo-data/profiles/search.toml --at 30s,120s
  glowsill render timber-rack --profile demo-data/profiles/search.toml --every 20s --size 160x120
  A scenario as an animation, a picture each second, 20 times faster than real:
    glowsill render paint-store-door --profile demo-data/profiles/search.toml --every 1s --speed 20";

/// Arguments of `glowsill render`.
#[derive(Debug, Args)]
pub(in crate::cli) struct RenderArguments {
    /// Folder of a recording, scenario, or name of a simulated target, see below
    #[arg(value_name = "RECORDING|SCENARIO|TARGET")]
    pub(super) source: String,
    /// Profile file
    #[arg(long, value_name = "FILE")]
    pub(super) profile: PathBuf,
    /// Folder for the pictures; made if needed
    #[arg(long, value_name = "DIR", default_value = "glowsill-pictures")]
    pub(super) out: PathBuf,
    /// How many frames from the first on, 1 to 9999 [default: 30 of a target, all of a recording]
    #[arg(long, value_name = "N", value_parser = super::frames)]
    pub(super) frames: Option<usize>,
    /// Instants: seconds (30s) or frames ("frame 90"), with commas, in any order, each once [default of a
    /// scenario: 7 over its span]
    #[arg(
        long,
        value_name = "INSTANT,…",
        value_delimiter = ',',
        allow_hyphen_values = true,
        conflicts_with = "frames"
    )]
    pub(super) at: Vec<Instant>,
    /// An instant every so often, such as 5s, from 0 s to the end; at most 500
    #[arg(long, value_name = "SECONDS", value_parser = super::every)]
    #[arg(conflicts_with_all = ["frames", "at"], allow_hyphen_values = true)]
    pub(super) every: Option<f64>,
    /// How many times faster than real time the animation runs, 0.01 to 1000
    #[arg(long, value_name = "N", value_parser = super::speed, default_value = "1")]
    #[arg(allow_hyphen_values = true)]
    pub(super) speed: f64,
    /// Writes animation.mp4 too; needs the program ffmpeg
    #[arg(long)]
    pub(super) video: bool,
    /// What one pixel of the glass takes
    #[arg(long, value_enum, default_value_t = PanelName::Rgb888)]
    pub(super) panel: PanelName,
    /// Columns and rows of a target or scenario [default: 320x240, or as the scenario says]
    #[arg(long, value_name = "WxH", value_parser = super::size)]
    pub(super) size: Option<(usize, usize)>,
    /// Seed of the simulated noise
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
}

/// Panel formats by the names used on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum PanelName {
    /// 24 bits a pixel
    Rgb888,
    /// 16 bits a pixel, rounded
    Rgb565,
    /// 16 bits a pixel, with ordered dither
    Rgb565Dithered,
}

impl From<PanelName> for Panel {
    fn from(name: PanelName) -> Self {
        match name {
            PanelName::Rgb888 => Self::Rgb888,
            PanelName::Rgb565 => Self::Rgb565,
            PanelName::Rgb565Dithered => Self::Rgb565Dithered,
        }
    }
}
