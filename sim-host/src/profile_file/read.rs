//! TOML → [`ProfileSpec`].

use glowsill_core::profile::{
    Band, BandPlan, Ceiling, ColourPlan, Fill, GainPlan, MAX_BANDS, MAX_STOPS, Overlay,
    ProfileSpec, RampEnd, ScaleLaw, ScalePlan, WholeFramePlan,
};
use glowsill_core::units::Temperature;

use super::source::{Places, Source, Table};
use super::{ProfileFileError, value};

const TEMPERATURE: &str = "a temperature such as \"110 C\", \"230 °F\" or \"383.15 K\"";
const DIFFERENCE: &str = "a difference such as \"15 K\"";
const SHARE: &str = "a share such as \"0.5 %\", in steps of 0.1 %";
const COLOUR: &str = "a colour such as \"#ff9600\"";

type Read<T> = Result<T, ProfileFileError>;

/// Reads a whole file; gives the spec, the purpose and the places of the fields.
pub(super) fn document(text: &str, file: &str) -> Read<(ProfileSpec, String, Places)> {
    let mut source = Source::new(file, text, "docs/profile-format.md");
    let parsed = source.parse()?;
    let mut root = Table::root(parsed.get_ref());
    let s = &mut source;
    root.expects(&["name", "purpose", "gain", "scale", "colour", "overlay"]);
    let name = root.text(s, "name", "1 to 32 bytes of text", |text| {
        text.parse()
            .map_err(|_| format!("has {} bytes", text.len()))
    })?;
    let purpose = if root.takes("purpose") {
        root.text(s, "purpose", "text", |text| Ok(text.to_owned()))?
    } else {
        String::new()
    };
    let spec = ProfileSpec {
        name,
        gain: gain(root.table(s, "gain")?, s)?,
        scale: scale(root.table(s, "scale")?, s)?,
        colour: colour(root.table(s, "colour")?, s)?,
        overlay: overlay(root.table(s, "overlay")?, s)?,
    };
    root.finish(&source)?;
    Ok((spec, purpose, source.places))
}

fn temperature(
    table: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
) -> Read<Temperature> {
    table.text(s, key, TEMPERATURE, value::temperature)
}

fn difference(table: &mut Table<'_, '_>, s: &mut Source<'_>, key: &'static str) -> Read<u16> {
    table.text(s, key, DIFFERENCE, value::difference_k32)
}

fn share(table: &mut Table<'_, '_>, s: &mut Source<'_>, key: &'static str) -> Read<u16> {
    table.text(s, key, SHARE, value::permille)
}

fn gain(mut table: Table<'_, '_>, s: &mut Source<'_>) -> Read<GainPlan> {
    #[derive(Clone, Copy)]
    enum Plan {
        PerPixel,
        WholeFrame,
        HighOnly,
        LowOnly,
    }
    let plan = table.word(
        s,
        "plan",
        &[
            ("per-pixel", Plan::PerPixel),
            ("whole-frame", Plan::WholeFrame),
            ("high-only", Plan::HighOnly),
            ("low-only", Plan::LowOnly),
        ],
    )?;
    table.expects(match plan {
        Plan::PerPixel => &["blend_from", "blend_to", "dispute"],
        Plan::WholeFrame => &[
            "enter_above",
            "enter_share",
            "enter_frames",
            "leave_above",
            "leave_share",
            "leave_frames",
            "blank_frames",
        ],
        Plan::HighOnly | Plan::LowOnly => &[],
    });
    let t = &mut table;
    let gain = match plan {
        Plan::PerPixel => GainPlan::PerPixel {
            blend_from: temperature(t, s, "blend_from")?,
            blend_to: temperature(t, s, "blend_to")?,
            dispute_k32: difference(t, s, "dispute")?,
        },
        Plan::WholeFrame => GainPlan::WholeFrame(WholeFramePlan {
            enter_above: temperature(t, s, "enter_above")?,
            enter_permille: share(t, s, "enter_share")?,
            enter_frames: t.byte(s, "enter_frames", 1, 255)?,
            leave_above: temperature(t, s, "leave_above")?,
            leave_permille: share(t, s, "leave_share")?,
            leave_frames: t.byte(s, "leave_frames", 1, 255)?,
            blank_frames: t.byte(s, "blank_frames", 0, 60)?,
        }),
        Plan::HighOnly => GainPlan::HighOnly,
        Plan::LowOnly => GainPlan::LowOnly,
    };
    table.finish(s)?;
    Ok(gain)
}

fn scale(mut table: Table<'_, '_>, s: &mut Source<'_>) -> Read<ScalePlan> {
    #[derive(Clone, Copy)]
    enum Law {
        Fixed,
        Extremes,
        Percentile,
        Plateau,
    }
    table.expects(&[
        "law",
        "start_low",
        "start_high",
        "frames_to_hotter",
        "frames_to_colder",
        "min_span",
        "max_grey_per_kelvin",
    ]);
    let law = table.word(
        s,
        "law",
        &[
            ("fixed", Law::Fixed),
            ("extremes", Law::Extremes),
            ("percentile", Law::Percentile),
            ("plateau", Law::Plateau),
        ],
    )?;
    table.expects(match law {
        Law::Fixed | Law::Extremes => &[],
        Law::Percentile => &["low_share", "high_share"],
        Law::Plateau => &["low_share", "high_share", "plateau", "weight"],
    });
    let t = &mut table;
    let law = match law {
        Law::Fixed => ScaleLaw::Fixed,
        Law::Extremes => ScaleLaw::Extremes,
        Law::Percentile => ScaleLaw::Percentile {
            low_permille: share(t, s, "low_share")?,
            high_permille: share(t, s, "high_share")?,
        },
        Law::Plateau => ScaleLaw::Plateau {
            low_permille: share(t, s, "low_share")?,
            high_permille: share(t, s, "high_share")?,
            plateau_permille: share(t, s, "plateau")?,
            weight_q8: t.text(
                s,
                "weight",
                "a share, \"0 %\" to \"100 %\"",
                value::share_q8,
            )?,
        },
    };
    let plan = ScalePlan {
        law,
        start_low: temperature(t, s, "start_low")?,
        start_high: temperature(t, s, "start_high")?,
        frames_to_hotter: t.byte(s, "frames_to_hotter", 1, 255)?,
        frames_to_colder: t.byte(s, "frames_to_colder", 1, 255)?,
        min_span_k32: difference(t, s, "min_span")?,
        max_grey_per_kelvin: t.byte(s, "max_grey_per_kelvin", 1, 128)?,
    };
    table.finish(s)?;
    Ok(plan)
}

fn colour(mut table: Table<'_, '_>, s: &mut Source<'_>) -> Read<ColourPlan> {
    #[derive(Clone, Copy)]
    enum Plan {
        GreyOnly,
        Bands,
        PseudoColour,
    }
    let plan = table.word(
        s,
        "plan",
        &[
            ("grey-only", Plan::GreyOnly),
            ("bands", Plan::Bands),
            ("pseudo-colour", Plan::PseudoColour),
        ],
    )?;
    table.expects(match plan {
        Plan::GreyOnly => &[],
        Plan::Bands => &["hysteresis", "bands", "ramp_end", "ceiling"],
        Plan::PseudoColour => &["stops"],
    });
    let colour = match plan {
        Plan::GreyOnly => ColourPlan::GreyOnly,
        Plan::Bands => ColourPlan::Bands(bands(&mut table, s)?),
        Plan::PseudoColour => {
            let stops = table.texts(s, "stops", "2 to 12 colours", value::colour)?;
            let count = stops.len();
            if count > MAX_STOPS {
                return Err(table.error(s, "stops", format!("holds {count}"), "2 to 12 colours"));
            }
            ColourPlan::PseudoColour {
                stops: stops.into_iter().collect(),
            }
        }
    };
    table.finish(s)?;
    Ok(colour)
}

fn bands(table: &mut Table<'_, '_>, s: &mut Source<'_>) -> Read<BandPlan> {
    let mut bands = Vec::new();
    for mut band in table.tables(s, "bands")? {
        band.expects(&["start", "colour", "fill"]);
        let b = &mut band;
        bands.push(Band {
            start: temperature(b, s, "start")?,
            colour: b.text(s, "colour", COLOUR, value::colour)?,
            fill: b.word(s, "fill", &[("flat", Fill::Flat), ("ramp", Fill::Ramp)])?,
        });
        band.finish(s)?;
    }
    let count = bands.len();
    if count > MAX_BANDS {
        return Err(table.error(s, "bands", format!("has {count} bands"), "1 to 6 bands"));
    }
    let hysteresis_k32 = difference(table, s, "hysteresis")?;
    let ramp_end = if table.takes("ramp_end") {
        let mut end = table.table(s, "ramp_end")?;
        end.expects(&["temperature", "colour"]);
        let value = RampEnd {
            temperature: temperature(&mut end, s, "temperature")?,
            colour: end.text(s, "colour", COLOUR, value::colour)?,
        };
        end.finish(s)?;
        Some(value)
    } else {
        None
    };
    let ceiling = if table.takes("ceiling") {
        let mut ceiling = table.table(s, "ceiling")?;
        ceiling.expects(&["start", "colour"]);
        let value = Ceiling {
            start: temperature(&mut ceiling, s, "start")?,
            colour: ceiling.text(s, "colour", COLOUR, value::colour)?,
        };
        ceiling.finish(s)?;
        Some(value)
    } else {
        None
    };
    Ok(BandPlan {
        bands: bands.into_iter().collect(),
        hysteresis_k32,
        ramp_end,
        ceiling,
    })
}

fn overlay(mut table: Table<'_, '_>, s: &mut Source<'_>) -> Read<Overlay> {
    #[derive(Clone, Copy)]
    enum Style {
        Opaque,
        Veil,
        Tint,
    }
    let style = table.word(
        s,
        "style",
        &[
            ("opaque", Style::Opaque),
            ("veil", Style::Veil),
            ("tint", Style::Tint),
        ],
    )?;
    table.expects(match style {
        Style::Opaque => &[],
        Style::Veil => &["opacity"],
        Style::Tint => &["knee", "lift"],
    });
    let overlay = match style {
        Style::Opaque => Overlay::Opaque,
        Style::Veil => Overlay::Veil {
            opacity: table.byte(s, "opacity", 0, 255)?,
        },
        Style::Tint => Overlay::Tint {
            knee: table.byte(s, "knee", 1, 254)?,
            lift: table.byte(s, "lift", 1, 255)?,
        },
    };
    table.finish(s)?;
    Ok(overlay)
}
