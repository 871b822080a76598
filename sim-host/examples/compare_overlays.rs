//! Compares the overlays on one profile: detail behind colour against distance between colours;
//! `docs/decisions/0004-default-overlay.md` quotes this program's result.
//!
//! Run with `cargo run --release -p glowsill --example compare_overlays`. Every draw is seeded, so
//! that the result is the same everywhere.

use comfy_table::{Table, presets};
use glowsill::measure::{self, MeasureId, Outcome, Settings};
use glowsill::profile_file;
use glowsill_core::panel::Rgb888;
use glowsill_core::profile::{Band, ColourPlan, Fill, Overlay, Profile, ProfileSpec};
use glowsill_core::units::Temperature;

const PROFILE: &str = "Interior attack";
const FINE: &str = "0.1 cycles/px";
/// The four default colours of `docs/decisions/0003-default-colours.md`.
const FOUR: [Rgb888; 4] = [
    Rgb888::new(235, 210, 0),
    Rgb888::new(225, 145, 0),
    Rgb888::new(215, 85, 0),
    Rgb888::new(200, 0, 0),
];
/// Length of the four bands, kelvin.
const BAND_K: u16 = 100;
/// Length of the steep ramps, kelvin.
const STEEP_K: u16 = 40;
const COARSE: &str = "0.05 cycles/px";

type Conditions<'a> = &'a [(&'a str, &'a str)];

/// A column: heading, measure, quantity and conditions.
const COLUMNS: [(&str, MeasureId, &str, Conditions<'_>); 13] = {
    use MeasureId::{ColourOrder, Detail};
    [
        (
            "JND 5 K 0.05",
            Detail,
            "worst_separation",
            &[("delta_t", "5 K"), ("frequency", COARSE)],
        ),
        (
            "JND 5 K 0.1",
            Detail,
            "worst_separation",
            &[("delta_t", "5 K"), ("frequency", FINE)],
        ),
        (
            "JND 10 K 0.05",
            Detail,
            "worst_separation",
            &[("delta_t", "10 K"), ("frequency", COARSE)],
        ),
        (
            "JND 10 K 0.1",
            Detail,
            "worst_separation",
            &[("delta_t", "10 K"), ("frequency", FINE)],
        ),
        (
            "kept 5 K 0.05",
            Detail,
            "retention",
            &[("delta_t", "5 K"), ("frequency", COARSE)],
        ),
        (
            "kept 5 K 0.1",
            Detail,
            "retention",
            &[("delta_t", "5 K"), ("frequency", FINE)],
        ),
        (
            "kept 10 K 0.05",
            Detail,
            "retention",
            &[("delta_t", "10 K"), ("frequency", COARSE)],
        ),
        (
            "kept 10 K 0.1",
            Detail,
            "retention",
            &[("delta_t", "10 K"), ("frequency", FINE)],
        ),
        ("edge JND", Detail, "edge_separation", &[]),
        ("edge ΔE00", Detail, "edge_delta_e", &[]),
        (
            "bands ΔE00 normal",
            ColourOrder,
            "min_neighbour_delta_e",
            &[("vision", "normal")],
        ),
        (
            "bands ΔE00 deutan",
            ColourOrder,
            "min_neighbour_delta_e",
            &[("vision", "deutan")],
        ),
        (
            "grey ΔE00 deutan",
            ColourOrder,
            "min_grey_delta_e",
            &[("vision", "deutan")],
        ),
    ]
};

/// The value and its half-width as text; a dash where the measure found nothing.
fn reading(outcomes: &[Outcome], id: MeasureId, name: &str, conditions: Conditions<'_>) -> String {
    let quantity = outcomes
        .iter()
        .filter(|outcome| outcome.measure == id)
        .flat_map(|outcome| &outcome.quantities)
        .find(|quantity| {
            quantity.name == name
                && conditions.iter().all(|(key, value)| {
                    quantity
                        .conditions
                        .get(*key)
                        .is_some_and(|found| found == value)
                })
        });
    let Some((value, half)) = quantity.and_then(|q| Some((q.value?, q.uncertainty))) else {
        return "-".to_owned();
    };
    half.map_or_else(
        || format!("{value:.2}"),
        |half| format!("{value:.2} ± {half:.2}"),
    )
}

/// The shipped profile under each overlay, and under the tint with ramps instead of flat bands.
fn variants(shipped: &ProfileSpec) -> Vec<(String, ProfileSpec)> {
    let with = |overlay: Overlay| ProfileSpec {
        overlay,
        ..shipped.clone()
    };
    let mut list = vec![("opaque".to_owned(), with(Overlay::Opaque))];
    for opacity in [64, 96, 128, 192] {
        list.push((
            format!("veil {opacity}/255"),
            with(Overlay::Veil { opacity }),
        ));
    }
    list.push(("as shipped (tint)".to_owned(), shipped.clone()));
    list.push(("tint, ramps".to_owned(), ramps(shipped, None)));
    list.push((
        format!("tint, ramps of {STEEP_K} K"),
        ramps(shipped, Some(STEEP_K)),
    ));
    for (name, overlay) in [
        ("veil 64/255", Overlay::Veil { opacity: 64 }),
        ("veil 128/255", Overlay::Veil { opacity: 128 }),
        ("tint", shipped.overlay),
    ] {
        list.push((format!("four bands, {name}"), four_bands(with(overlay))));
    }
    list
}

/// With the four default colours instead of the profile's own three.
fn four_bands(mut spec: ProfileSpec) -> ProfileSpec {
    if let ColourPlan::Bands(plan) = &mut spec.colour
        && let Some(first) = plan.bands.first().copied()
    {
        let starts = (0..).map(|index: u16| first.start.to_bits() + index * 32 * BAND_K);
        plan.bands = FOUR
            .into_iter()
            .zip(starts)
            .map(|(colour, bits)| Band {
                start: Temperature::from_bits(bits),
                colour,
                ..first
            })
            .collect();
    }
    spec
}

/// The shipped profile with every band but the last one a ramp; `length_k` moves their starts.
fn ramps(shipped: &ProfileSpec, length_k: Option<u16>) -> ProfileSpec {
    let mut spec = shipped.clone();
    if let ColourPlan::Bands(plan) = &mut spec.colour {
        let last = plan.bands.len().saturating_sub(1);
        let mut start = plan.bands.first().map(|band| band.start.to_bits());
        for (index, band) in plan.bands.iter_mut().enumerate() {
            if index < last {
                band.fill = Fill::Ramp;
            }
            if let (Some(length), Some(bits)) = (length_k, start) {
                band.start = Temperature::from_bits(bits);
                start = Some(bits.saturating_add(32 * length));
            }
        }
    }
    spec
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let shipped = profile_file::demo()?
        .into_iter()
        .map(|demo| demo.loaded.spec)
        .find(|spec| spec.name == PROFILE)
        .ok_or("the demonstration profile is not embedded")?;
    println!("Profile: {PROFILE}. Simulation and teaching only; not a certification.");
    let settings = Settings::default();
    let mut table = Table::new();
    table.load_preset(presets::ASCII_MARKDOWN);
    table.set_header(std::iter::once("overlay").chain(COLUMNS.map(|(heading, ..)| heading)));
    for (name, spec) in variants(&shipped) {
        let profile = Profile::new(spec)?;
        let outcomes = [MeasureId::Detail, MeasureId::ColourOrder]
            .into_iter()
            .map(|id| measure::run(id, &profile, &settings))
            .collect::<Result<Vec<_>, _>>()?;
        let cells = COLUMNS
            .map(|(_, id, quantity, conditions)| reading(&outcomes, id, quantity, conditions));
        table.add_row(std::iter::once(name.clone()).chain(cells));
        println!("\n{name}");
        for finding in outcomes.iter().flat_map(|outcome| &outcome.findings) {
            println!("  {finding}");
        }
    }
    println!("\n{table}");
    Ok(())
}
