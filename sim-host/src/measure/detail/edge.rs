//! Where a band starts between bars and gaps: what colour and luminance tell apart there.

use glowsill_core::panel::Rgb888;
use glowsill_core::profile::Profile;
use rayon::prelude::*;

use super::super::reading::{self, Region};
use super::super::{MeasureError, Outcome, Quantity, Settings};
use super::target::{Group, edges};
use super::{difference, exposures, frames};
use crate::photometry::colour::{self, Lab};
use crate::run::Shown;
use crate::temperature::Kelvin;

/// Mean displayed colour of a region as CIE Lab.
fn lab(shown: &Shown, region: &Region) -> Option<Lab> {
    let channel = |pick: fn(&Rgb888) -> u8| {
        let codes = region.iter().filter_map(|i| shown.picture.get(*i));
        reading::mean(codes.map(|c| colour::srgb_decode(pick(c))))
    };
    Some(colour::lab_of_linear([
        channel(|c| c.r)?,
        channel(|c| c.g)?,
        channel(|c| c.b)?,
    ]))
}

/// Luminance and colour between the 10 K bars and their gaps where a band starts between them.
pub(super) fn across_edges(
    profile: &Profile,
    settings: &Settings,
    outcome: &mut Outcome,
) -> Result<(), MeasureError> {
    let panel = settings.panel.table();
    let groups = Group::all();
    let found: Vec<_> = edges(profile)
        .into_par_iter()
        .map(|base_k| {
            let exposures = exposures(profile, settings, base_k, &groups)?;
            let frames = frames(profile, settings, &exposures)?;
            let last = frames.last();
            let read = groups
                .iter()
                .filter(|group| group.delta_k == 10.0)
                .filter_map(|group| {
                    let (bars, gaps) = group.regions();
                    let jnd = difference(last?, &bars, &gaps, &panel)?;
                    let delta_e = colour::ciede2000(lab(last?, &bars)?, lab(last?, &gaps)?);
                    Some((jnd, delta_e))
                });
            let least = read.min_by(|a, b| a.1.total_cmp(&b.1));
            Ok((base_k, least))
        })
        .collect::<Result<Vec<_>, MeasureError>>()?;
    let start = |base_k: f64| Kelvin(base_k + 6.0);
    let worst = found
        .iter()
        .filter_map(|(base_k, least)| Some((*base_k, (*least)?)));
    let Some((base_k, (jnd, delta_e))) = worst.min_by(|a, b| a.1.1.total_cmp(&b.1.1)) else {
        outcome.absent(
            &[("edge_separation", "JND"), ("edge_delta_e", "ΔE00")],
            "the profile has no band that could start between bars and gaps",
        );
        return Ok(());
    };
    let note = || format!("bars 10 K apart on both sides of {}", start(base_k));
    outcome
        .quantities
        .push(Quantity::new("edge_separation", jnd, "JND").noting(note()));
    outcome
        .quantities
        .push(Quantity::new("edge_delta_e", delta_e, "ΔE00").noting(note()));
    outcome.findings.push(format!(
        "Where a band starts between bars and gaps 10 K apart they differ by at least {delta_e:.1} \
         ΔE00, at {}; in luminance by {:.1} JND, the hotter ones {}.",
        start(base_k),
        jnd.abs(),
        if jnd < 0.0 { "darker" } else { "brighter" }
    ));
    Ok(())
}
