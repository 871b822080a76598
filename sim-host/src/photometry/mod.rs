//! Light and colour as a display gives them and as people with different colour vision see them.
//!
//! Everything here is f64 on the host: [`panel_model`] turns codes into luminance, [`gsdf`] turns
//! luminance into just-noticeable steps, [`colour`] gives colour differences, [`deficiency`] shows
//! what observers with a colour-vision deficiency see, [`contrast`] holds the contrast ratios and
//! [`flash`] counts flashes. `docs/measures/display-model.md` states the assumptions.

pub mod colour;
pub mod contrast;
pub mod deficiency;
pub mod flash;
pub mod gsdf;
pub mod panel_model;
