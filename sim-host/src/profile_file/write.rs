//! [`ProfileSpec`] → TOML.

use std::fmt::{Display, Write};

use glowsill_core::profile::{
    BandPlan, ColourPlan, Fill, GainPlan, Overlay, ProfileSpec, ScaleLaw,
};

use super::value::{
    write_colour, write_difference, write_permille, write_share_q8, write_temperature,
};

struct Writer(String);

impl Writer {
    fn header(&mut self, header: &str) {
        self.line(format_args!("\n{header}"));
    }

    fn number(&mut self, key: &str, value: impl Display) {
        self.line(format_args!("{key} = {value}"));
    }

    fn text(&mut self, key: &str, value: &str) {
        let quoted = toml::Value::String(value.to_owned());
        self.line(format_args!("{key} = {quoted}"));
    }

    fn line(&mut self, line: std::fmt::Arguments<'_>) {
        // Writing to a String cannot fail.
        let _ = writeln!(self.0, "{line}");
    }
}

/// Writes a profile as a file that [`super::parse`] reads back to the same spec.
///
/// ```
/// use glowsill::profile_file::{parse, to_toml};
/// let spec = glowsill_core::profile::ProfileSpec::grey_example();
/// let text = to_toml(&spec, "An example");
/// assert_eq!(parse(&text, "example.toml").unwrap().spec, spec);
/// ```
#[must_use]
pub fn to_toml(spec: &ProfileSpec, purpose: &str) -> String {
    let mut w = Writer(String::new());
    w.text("name", &spec.name);
    w.text("purpose", purpose);
    gain(&mut w, &spec.gain);
    scale(&mut w, spec);
    w.header("[colour]");
    match &spec.colour {
        ColourPlan::GreyOnly => w.text("plan", "grey-only"),
        ColourPlan::Bands(plan) => bands(&mut w, plan),
        ColourPlan::PseudoColour { stops } => {
            w.text("plan", "pseudo-colour");
            let stops: Vec<_> = stops
                .iter()
                .map(|stop| format!("\"{}\"", write_colour(*stop)))
                .collect();
            w.number("stops", format_args!("[{}]", stops.join(", ")));
        }
    }
    w.header("[overlay]");
    match spec.overlay {
        Overlay::Opaque => w.text("style", "opaque"),
        Overlay::Veil { opacity } => {
            w.text("style", "veil");
            w.number("opacity", opacity);
        }
        Overlay::Tint { knee, lift } => {
            w.text("style", "tint");
            w.number("knee", knee);
            w.number("lift", lift);
        }
    }
    w.0
}

fn gain(w: &mut Writer, plan: &GainPlan) {
    w.header("[gain]");
    match plan {
        GainPlan::PerPixel {
            blend_from,
            blend_to,
            dispute_k32,
        } => {
            w.text("plan", "per-pixel");
            w.text("blend_from", &write_temperature(*blend_from));
            w.text("blend_to", &write_temperature(*blend_to));
            w.text("dispute", &write_difference(*dispute_k32));
        }
        GainPlan::WholeFrame(plan) => {
            w.text("plan", "whole-frame");
            w.text("enter_above", &write_temperature(plan.enter_above));
            w.text("enter_share", &write_permille(plan.enter_permille));
            w.number("enter_frames", plan.enter_frames);
            w.text("leave_above", &write_temperature(plan.leave_above));
            w.text("leave_share", &write_permille(plan.leave_permille));
            w.number("leave_frames", plan.leave_frames);
            w.number("blank_frames", plan.blank_frames);
        }
        GainPlan::HighOnly => w.text("plan", "high-only"),
        GainPlan::LowOnly => w.text("plan", "low-only"),
    }
}

fn scale(w: &mut Writer, spec: &ProfileSpec) {
    let plan = &spec.scale;
    w.header("[scale]");
    match plan.law {
        ScaleLaw::Fixed => w.text("law", "fixed"),
        ScaleLaw::Extremes => w.text("law", "extremes"),
        ScaleLaw::Percentile {
            low_permille,
            high_permille,
        } => {
            w.text("law", "percentile");
            w.text("low_share", &write_permille(low_permille));
            w.text("high_share", &write_permille(high_permille));
        }
        ScaleLaw::Plateau {
            low_permille,
            high_permille,
            plateau_permille,
            weight_q8,
        } => {
            w.text("law", "plateau");
            w.text("low_share", &write_permille(low_permille));
            w.text("high_share", &write_permille(high_permille));
            w.text("plateau", &write_permille(plateau_permille));
            w.text("weight", &write_share_q8(weight_q8));
        }
    }
    w.text("start_low", &write_temperature(plan.start_low));
    w.text("start_high", &write_temperature(plan.start_high));
    w.number("frames_to_hotter", plan.frames_to_hotter);
    w.number("frames_to_colder", plan.frames_to_colder);
    w.text("min_span", &write_difference(plan.min_span_k32));
    w.number("max_grey_per_kelvin", plan.max_grey_per_kelvin);
}

fn bands(w: &mut Writer, plan: &BandPlan) {
    w.text("plan", "bands");
    w.text("hysteresis", &write_difference(plan.hysteresis_k32));
    for band in &plan.bands {
        w.header("[[colour.bands]]");
        w.text("start", &write_temperature(band.start));
        w.text("colour", &write_colour(band.colour));
        w.text(
            "fill",
            match band.fill {
                Fill::Flat => "flat",
                Fill::Ramp => "ramp",
            },
        );
    }
    if let Some(end) = plan.ramp_end {
        w.header("[colour.ramp_end]");
        w.text("temperature", &write_temperature(end.temperature));
        w.text("colour", &write_colour(end.colour));
    }
    if let Some(ceiling) = plan.ceiling {
        w.header("[colour.ceiling]");
        w.text("start", &write_temperature(ceiling.start));
        w.text("colour", &write_colour(ceiling.colour));
    }
}
