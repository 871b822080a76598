//! The evidence in pictures: drawn once, used by the page, the folder and the JSON.

use std::collections::BTreeSet;
use std::io::Cursor;

use image::{ImageFormat, RgbImage};
use rayon::prelude::*;

use super::{ProfileReport, Report, ReportError, words};
use crate::measure::{Outcome, Picture, Plot};
use crate::plot::{self, OnPage};

/// A picture as a file.
pub(super) struct File {
    /// Path inside the report's folder.
    pub(super) file: String,
    pub(super) caption: String,
    pub(super) size: (u32, u32),
    pub(super) png: Vec<u8>,
}

/// A plot as it stands in the page, and as a file; or why it cannot be drawn.
pub(super) type Drawn = Result<(OnPage, File), String>;

/// Everything one measure left to look at.
pub(super) struct OfMeasure {
    pub(super) plots: Vec<Drawn>,
    pub(super) pictures: Vec<File>,
}

/// Everything one profile left to look at.
pub(super) struct Evidence {
    pub(super) slug: String,
    pub(super) chart_drawing: OnPage,
    pub(super) chart: File,
    /// In the order of the outcomes.
    pub(super) measures: Vec<OfMeasure>,
}

impl Evidence {
    pub(super) fn files(&self) -> impl Iterator<Item = &File> {
        let of_measures = self.measures.iter().flat_map(|measure| {
            let plots = measure.plots.iter().filter_map(|drawn| drawn.as_ref().ok());
            plots.map(|(_, file)| file).chain(&measure.pictures)
        });
        std::iter::once(&self.chart).chain(of_measures)
    }
}

/// Draws the evidence of every profile, in order.
pub(super) fn draw(report: &Report) -> Result<Vec<Evidence>, ReportError> {
    let mut taken = BTreeSet::new();
    let slugs: Vec<_> = report
        .profiles
        .iter()
        .map(|profile| unique(words::slug(profile.name()), &mut taken))
        .collect();
    report
        .profiles
        .par_iter()
        .zip(slugs)
        .map(|(profile, slug)| draw_profile(profile, slug))
        .collect()
}

fn unique(wanted: String, taken: &mut BTreeSet<String>) -> String {
    let mut name = wanted.clone();
    let mut number = 2;
    while !taken.insert(name.clone()) {
        name = format!("{wanted}-{number}");
        number += 1;
    }
    name
}

fn draw_profile(profile: &ProfileReport, slug: String) -> Result<Evidence, ReportError> {
    let caption = format!("{}: colour against apparent temperature", profile.name());
    let mut taken = BTreeSet::from([format!("{slug}-chart")]);
    let chart = encode(
        &format!("{slug}-chart"),
        caption,
        &plot::chart::png(&profile.spec)?,
    )?;
    // Names are given in order, so that they do not depend on which thread is first.
    let mut named = vec![];
    for outcome in &profile.outcomes {
        let mut name = |stem: &str| {
            unique(
                words::picture_name(&slug, outcome.measure, stem),
                &mut taken,
            )
        };
        let plots: Vec<_> = outcome.plots.iter().map(|plot| name(&plot.stem)).collect();
        let pictures: Vec<_> = outcome.pictures.iter().map(|one| name(&one.stem)).collect();
        named.push((outcome, plots, pictures));
    }
    let measures = named
        .into_par_iter()
        .map(|(outcome, plots, pictures)| draw_measure(outcome, &plots, &pictures))
        .collect::<Result<_, _>>()?;
    Ok(Evidence {
        slug,
        chart_drawing: plot::chart::on_page(&profile.spec)?,
        chart,
        measures,
    })
}

fn draw_measure(
    outcome: &Outcome,
    plots: &[String],
    pictures: &[String],
) -> Result<OfMeasure, ReportError> {
    let plots = outcome
        .plots
        .iter()
        .zip(plots)
        .map(|(plot, name)| draw_plot(plot, name));
    let encode_one = |(picture, name): (&Picture, &String)| {
        encode(name, picture.caption.clone(), &picture.image)
    };
    let pictures = outcome.pictures.iter().zip(pictures).map(encode_one);
    Ok(OfMeasure {
        plots: plots.collect::<Result<_, _>>()?,
        pictures: pictures.collect::<Result<_, _>>()?,
    })
}

/// A plot without points is said in its place; it does not stop the report.
fn draw_plot(one: &Plot, name: &str) -> Result<Drawn, ReportError> {
    match (OnPage::half(one), plot::png(one)) {
        (Ok(drawing), Ok(image)) => Ok(Ok((drawing, encode(name, one.title.clone(), &image)?))),
        (Err(error), _) | (_, Err(error)) => Ok(Err(error.to_string())),
    }
}

fn encode(name: &str, caption: String, image: &RgbImage) -> Result<File, ReportError> {
    let mut png = vec![];
    image
        .write_to(&mut Cursor::new(&mut png), ImageFormat::Png)
        .map_err(|error| ReportError::Encode {
            what: format!("picture '{name}'"),
            reason: error.to_string(),
        })?;
    Ok(File {
        file: format!("pictures/{name}.png"),
        caption,
        size: image.dimensions(),
        png,
    })
}
