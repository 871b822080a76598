//! The command line: arguments here, a file per command, and the exit codes.
//!
//! | exit code | meaning |
//! | --- | --- |
//! | 0 | everything as required; in the demonstration, every profile does as it is marked |
//! | 1 | a requirement fails, or a profile that is there to fail passes |
//! | 2 | the input cannot be used; the message names field, value, limits and next step |

mod apparent;
mod error;
mod output;
mod profile;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};

pub use error::CliError;

use crate::temperature::Kelvin;

/// Shown wherever a result could be taken for more than it is.
pub const CAUTION: &str = "Simulation and teaching only; not a certification. Apparent is not true \
temperature. Follow the authority having jurisdiction.";

const EXIT_CODES: &str = "\
EXIT CODES
  0  everything as required (in the demonstration: every profile does as it is marked,
     the good ones pass and those that are there to fail do fail)
  1  a requirement fails, or a profile that is there to fail passes
  2  the input cannot be used; the message says where, what and what to do

CAUTIONS
  Simulation and teaching only; not a certification, and no evidence that any equipment is fit
  for entry. Apparent is not true temperature. An imager does not see through walls, glass or
  water. Follow the authority having jurisdiction, the local procedures and qualified instructors.";

/// Computes, measures and proves what a fire-service thermal imager display shows.
///
/// A display pipeline stands between the sensor of a thermal imager and its glass: two gain states
/// are merged, the grey scale follows the scene, colour starts at an onset, and an overlay is blended
/// over the grey picture. glowsill runs that pipeline on simulated targets and measures what a crew
/// could see: where colour starts, whether detail stays visible behind it, what a flame hides.
#[derive(Debug, Parser)]
#[command(name = "glowsill", version, after_help = EXIT_CODES, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Computes what an imager reads of a surface, or the surface behind a reading.
    #[command(after_help = APPARENT_EXAMPLES)]
    Apparent(ApparentArguments),
    /// Checks profile files, or packs them for a microcontroller.
    #[command(subcommand)]
    Profile(ProfileCommand),
}

const APPARENT_EXAMPLES: &str = "\
A bare metal surface emits little and mirrors its surroundings, so that it reads far too cool.
The statement \"colour starts at 160 °C\" therefore holds for emissivity 1; this command says what
it means for a real surface.

EXAMPLES
  A painted surface of 260 °C in a room of 20 °C (reads 243.2 °C):
    glowsill apparent --true 260C --emissivity 0.9 --surroundings 20C
  The same way back, from the reading to the surface:
    glowsill apparent --apparent 243.18C --emissivity 0.9 --surroundings 20C
  Through hot smoke that passes 70 % in the band:
    glowsill apparent --true 500F --emissivity 0.9 --transmission 0.7 --air 120C";

#[derive(Debug, Args)]
struct ApparentArguments {
    /// True temperature of the surface, such as 260C, "500 °F" or 533.15K
    #[arg(long = "true", value_name = "TEMPERATURE", allow_hyphen_values = true)]
    #[arg(required_unless_present = "apparent", conflicts_with = "apparent")]
    true_temperature: Option<Kelvin>,
    /// Apparent temperature, from which the true one is found
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    apparent: Option<Kelvin>,
    /// Emissivity of the surface in the band, 0.001 to 1
    #[arg(long, value_name = "RATIO")]
    emissivity: f64,
    /// Temperature of what the surface mirrors
    #[arg(
        long,
        value_name = "TEMPERATURE",
        default_value = "20C",
        allow_hyphen_values = true
    )]
    surroundings: Kelvin,
    /// Transmission of the air or smoke in the band, 0.001 to 1
    #[arg(long, value_name = "RATIO", default_value_t = 1.0)]
    transmission: f64,
    /// Temperature of the air or smoke
    #[arg(
        long,
        value_name = "TEMPERATURE",
        default_value = "20C",
        allow_hyphen_values = true
    )]
    air: Kelvin,
    /// Spectral band in µm
    #[arg(long, value_name = "SHORT-LONG", default_value = "8-14", value_parser = apparent::band)]
    band: crate::world::radiometry::Band,
    /// Writes JSON instead of sentences
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Subcommand)]
enum ProfileCommand {
    /// Reads a profile file and says what it does, or exactly what is wrong with it.
    Check {
        /// The profile file, TOML; docs/profile-format.md describes every field
        #[arg(value_name = "FILE")]
        file: PathBuf,
    },
    /// Writes the binary form of a profile that the core reads on a microcontroller.
    #[command(
        after_help = "EXAMPLE\n  glowsill profile pack demo-data/profiles/search.toml --out search.bin"
    )]
    Pack {
        /// The profile file, TOML
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// The binary file to write
        #[arg(long, value_name = "FILE")]
        out: PathBuf,
    },
}

/// Reads the arguments, runs the command, and gives the exit code.
#[must_use]
pub fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let result = match arguments.command {
        Command::Apparent(arguments) => apparent::run(&arguments),
        Command::Profile(command) => profile::run(&command),
    };
    match result {
        Ok(code) => code,
        Err(error) => {
            output::error(&error);
            ExitCode::from(2)
        }
    }
}
