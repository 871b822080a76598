//! Objects, and what glows inside them.

use glam::DVec3;

use super::Read;
use super::values::{
    THICKNESS, TIME, assembly_names, kelvin, known_assembly, number_or, optional, optional_bool,
    place, plain, seconds, thickness,
};
use crate::profile_file::source::{Source, Table};
use crate::world::scenario::spec::{EmberSpec, ObjectSpec};
use crate::world::scenario::things::{self, Material};

pub(super) fn object(
    mut table: Table<'_, '_>,
    s: &mut Source<'_>,
    ambient_k: f64,
) -> Read<ObjectSpec> {
    let t = &mut table;
    let name = t.text(s, "name", "text", plain)?;
    let form = things::form(t, s)?;
    let position = place(t, s, "position")?;
    let turn_deg = number_or(t, s, "turn", (-360.0, 360.0), "degrees", 0.0)?;
    let lean_deg = number_or(t, s, "lean", (-90.0, 90.0), "degrees", 0.0)?;
    let emissivity = number_or(t, s, "emissivity", (0.02, 1.0), "", form.emissivity)?;
    let mirror = number_or(t, s, "mirror", (0.0, 1.0), "", form.mirror)?;
    let assembly = if t.takes("assembly") {
        t.text(s, "assembly", &assembly_names(), known_assembly)?
    } else {
        let material = if t.takes("material") {
            t.word(s, "material", &Material::WORDS)?
        } else {
            form.material
        };
        let thick = optional(t, s, "thickness", THICKNESS, thickness)?.unwrap_or(form.thickness_m);
        things::single(material.material(), thick, emissivity)
    };
    let initial = optional(
        t,
        s,
        "temperature",
        "a temperature, \"-40 C\" to \"800 C\"",
        |text| kelvin(text, 233.15, 1073.15),
    )?;
    let initial_k = initial.unwrap_or(ambient_k + form.warmer_k);
    let closes_floor = optional_bool(t, s, "closes_floor")?;
    let ember = if t.takes("ember") {
        Some(ember(t.table(s, "ember")?, s, form.height_m)?)
    } else {
        None
    };
    table.finish(s)?;
    Ok(ObjectSpec {
        name,
        shape: form.shape,
        person: form.person,
        alive: form.alive,
        position,
        turn_deg,
        lean_deg,
        emissivity,
        mirror,
        assembly,
        initial_k,
        closes_floor,
        ember,
    })
}

fn ember(mut table: Table<'_, '_>, s: &mut Source<'_>, height_m: f64) -> Read<EmberSpec> {
    let t = &mut table;
    let kelvin = t.text(
        s,
        "temperature",
        "a temperature, \"50 C\" to \"900 C\"",
        |text| kelvin(text, 323.15, 1173.15),
    )?;
    let radius_m = number_or(t, s, "radius", (0.01, 2.0), "m", 0.1)?;
    let at = if t.takes("at") {
        place(t, s, "at")?
    } else {
        DVec3::Z * height_m
    };
    let under = t.text(s, "under", THICKNESS, thickness)?;
    let cools_s = optional(t, s, "cools", TIME, seconds)?.unwrap_or(1800.0);
    let since_s = optional(t, s, "since", TIME, seconds)?.unwrap_or(600.0);
    table.finish(s)?;
    Ok(EmberSpec {
        kelvin,
        radius_m,
        at,
        cover: things::single(things::SAWDUST_CHAR, under, 0.9),
        cools_s: cools_s.max(1.0),
        since_s,
    })
}
