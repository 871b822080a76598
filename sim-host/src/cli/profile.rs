//! `glowsill profile`: what a profile file does, and its binary form.

use std::path::Path;
use std::process::ExitCode;

use glowsill_core::packed;
use glowsill_core::profile::{ColourPlan, GainPlan, Overlay, ScaleLaw};

use super::{CliError, ProfileCommand, output};
use crate::profile_file::value::plural;
use crate::profile_file::{self, LoadedProfile};
use crate::temperature::Kelvin;

pub(super) fn run(command: &ProfileCommand) -> Result<ExitCode, CliError> {
    match command {
        ProfileCommand::Check { file } => check(file),
        ProfileCommand::Pack { file, out } => pack(file, out),
    }
}

fn check(file: &Path) -> Result<ExitCode, CliError> {
    let loaded = profile_file::load(file)?;
    for line in describe(&loaded) {
        output::line(line);
    }
    output::line(
        "The profile is valid. Whether it shows what it should: glowsill verify --profile FILE",
    );
    Ok(ExitCode::SUCCESS)
}

/// What a profile does, a sentence a line.
fn describe(loaded: &LoadedProfile) -> Vec<String> {
    let spec = &loaded.spec;
    let mut lines = vec![format!("{} ({})", spec.name, loaded.source)];
    if !loaded.purpose.is_empty() {
        lines.push(loaded.purpose.clone());
    }
    if loaded.packed {
        lines.push(format!(
            "Read from the packed form, version {}, which keeps no purpose and no comments.",
            packed::VERSION
        ));
    }
    lines.push(match &spec.gain {
        GainPlan::PerPixel {
            blend_from,
            blend_to,
            ..
        } => format!(
            "Gain: each pixel chooses, changing over from {} to {}.",
            Kelvin::from(*blend_from),
            Kelvin::from(*blend_to)
        ),
        GainPlan::WholeFrame(plan) => format!(
            "Gain: the whole frame switches to low gain above {}, and back below {}.",
            Kelvin::from(plan.enter_above),
            Kelvin::from(plan.leave_above)
        ),
        GainPlan::HighOnly => "Gain: high gain only; it saturates first.".to_owned(),
        GainPlan::LowOnly => "Gain: low gain only; small differences drown in noise.".to_owned(),
    });
    let law = match spec.scale.law {
        ScaleLaw::Fixed => "fixed",
        ScaleLaw::Extremes => "from the coldest to the hottest pixel",
        ScaleLaw::Percentile { .. } => "between two shares of the pixels",
        ScaleLaw::Plateau { .. } => "plateau-limited equalisation",
    };
    lines.push(format!(
        "Grey: {law}, at least {} K from black to white; {} toward hotter, {} toward colder.",
        f64::from(spec.scale.min_span_k32) / 32.0,
        plural(spec.scale.frames_to_hotter.into(), "frame"),
        plural(spec.scale.frames_to_colder.into(), "frame")
    ));
    match &spec.colour {
        ColourPlan::GreyOnly => lines.push("Colour: none.".to_owned()),
        ColourPlan::PseudoColour { stops } => lines.push(format!(
            "Colour: {} hues over the whole grey range; a hue has no temperature of its own.",
            stops.len()
        )),
        ColourPlan::Bands(plan) => {
            for (number, band) in (1..).zip(&plan.bands) {
                lines.push(format!(
                    "Colour: band {number} from {} apparent, #{:02x}{:02x}{:02x}.",
                    Kelvin::from(band.start),
                    band.colour.r,
                    band.colour.g,
                    band.colour.b
                ));
            }
            if let Some(ceiling) = plan.ceiling {
                lines.push(format!(
                    "Colour: solid from {}; above it nothing more can be told.",
                    Kelvin::from(ceiling.start)
                ));
            }
        }
    }
    lines.push(match spec.overlay {
        Overlay::Opaque => "Overlay: opaque; colour hides what stands behind it.".to_owned(),
        Overlay::Veil { opacity } => {
            format!("Overlay: veil, opacity {opacity} of 255; detail behind colour is weakened.")
        }
        Overlay::Tint { knee, lift } => format!(
            "Overlay: tint (knee {knee}, lift {lift}); luminance behind colour stays in the order of the grey."
        ),
    });
    lines
}

fn pack(file: &Path, out: &Path) -> Result<ExitCode, CliError> {
    let loaded = profile_file::load(file)?;
    let mut buffer = [0; packed::MAX_LEN];
    let length = loaded.profile.to_bytes(&mut buffer)?;
    let bytes = buffer.get(..length).unwrap_or(&buffer);
    std::fs::write(out, bytes).map_err(CliError::writing(out))?;
    output::line(format_args!(
        "{}: {length} bytes written to {}, version {}, check sum at the end.",
        loaded.name(),
        out.display(),
        packed::VERSION
    ));
    Ok(ExitCode::SUCCESS)
}
