//! `glowsill apparent`: a surface → its reading, and back.

use std::process::ExitCode;

use clap::Args;

use super::{CAUTION, CliError, output};
use crate::temperature::Kelvin;
use crate::world::radiometry::{Band, Path};

pub(super) const EXAMPLES: &str = "\
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

/// Arguments of `glowsill apparent`.
#[derive(Debug, Args)]
pub(super) struct ApparentArguments {
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
    #[arg(long, value_name = "SHORT-LONG", default_value = "8-14", value_parser = band)]
    band: Band,
    /// Writes JSON instead of sentences
    #[arg(long)]
    json: bool,
}

/// Reads `8-14` as a band in µm.
pub(super) fn band(text: &str) -> Result<Band, String> {
    let form = || format!("'{text}' is not a band: write two wavelengths in µm, such as 8-14");
    let (short, long) = text.split_once('-').ok_or_else(form)?;
    let number = |part: &str| part.trim().parse::<f64>().map_err(|_| form());
    Band::new(number(short)?, number(long)?).map_err(|error| error.to_string())
}

pub(super) fn run(arguments: &ApparentArguments) -> Result<ExitCode, CliError> {
    let path = Path {
        emissivity: arguments.emissivity,
        surroundings_k: arguments.surroundings.0,
        transmission: arguments.transmission,
        air_k: arguments.air.0,
    };
    path.check()?;
    let (true_k, apparent_k) = match (arguments.true_temperature, arguments.apparent) {
        (Some(surface), _) => {
            let reading = path.apparent(arguments.band, surface.0);
            if !Kelvin(reading).in_range() {
                return Err(CliError::NoReading(surface));
            }
            (surface.0, reading)
        }
        (None, reading) => {
            // clap lets neither pass without the other.
            let reading = reading.unwrap_or(Kelvin(f64::NAN));
            let surface = path.true_temperature(arguments.band, reading.0)?;
            if !Kelvin(surface).in_range() {
                return Err(CliError::NoSurface {
                    reading,
                    surface: Kelvin(surface),
                    emissivity: path.emissivity,
                });
            }
            (surface, reading.0)
        }
    };
    let difference_k = apparent_k - true_k;
    if arguments.json {
        let report = serde_json::json!({
            "true": Kelvin(true_k),
            "apparent": Kelvin(apparent_k),
            "difference_k": difference_k,
            "emissivity": path.emissivity,
            "surroundings": Kelvin(path.surroundings_k),
            "transmission": path.transmission,
            "air": Kelvin(path.air_k),
            "band_um": [arguments.band.short_um, arguments.band.long_um],
            "caution": CAUTION,
        });
        output::line(serde_json::to_string_pretty(&report)?);
        return Ok(ExitCode::SUCCESS);
    }
    output::line(format_args!("true temperature      {}", two_places(true_k)));
    output::line(format_args!(
        "apparent temperature  {}",
        two_places(apparent_k)
    ));
    let side = if difference_k < 0.0 {
        "too cool"
    } else {
        "too hot"
    };
    if difference_k.abs() < 0.005 {
        output::line("The imager reads the true temperature.");
    } else {
        output::line(format_args!(
            "The imager reads {:.2} K ({:.2} °F) {side}.",
            difference_k.abs(),
            difference_k.abs() * 1.8
        ));
    }
    output::line(format_args!(
        "Emissivity {}, surroundings {}, transmission {}, air {}, band {} to {} µm.",
        path.emissivity,
        arguments.surroundings,
        path.transmission,
        arguments.air,
        arguments.band.short_um,
        arguments.band.long_um
    ));
    output::line(CAUTION);
    Ok(ExitCode::SUCCESS)
}

fn two_places(kelvin: f64) -> String {
    let t = Kelvin(kelvin);
    format!("{:8.2} °C ({:.2} °F)", t.celsius(), t.fahrenheit())
}
