//! `glowsill apparent`: a surface → its reading, and back.

use std::process::ExitCode;

use super::{ApparentArguments, CAUTION, CliError, output};
use crate::temperature::Kelvin;
use crate::world::radiometry::{Band, Path};

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
