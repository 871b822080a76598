//! TOML → [`Spec`], with errors that say line, field, value, limits and next step.

mod object;
mod values;

use glam::DVec3;

use super::spec::{FaceSpec, Filling, FireSpec, Key, OpeningSpec, RoomSpec, Side, Spec, SpraySpec};
use super::things;
use crate::profile_file::ProfileFileError;
use crate::profile_file::source::{Places, Source, Table};
use crate::world::conduction::Assembly;
use crate::world::fire::growth::Growth;
use object::object;
pub use values::seconds;
use values::{
    TEMPERATURE, TIME, assembly_names, kelvin, known_assembly, list, measured, number_or, optional,
    optional_bool, place, plain, seconds_within, size, some_tables, weather, whole,
};

type Read<T> = Result<T, ProfileFileError>;

pub(super) const GUIDE: &str = "docs/scenarios.md";

/// Reads a whole file, and gives the places of its fields for the checks that follow.
pub(super) fn document(text: &str, file: &str) -> Read<(Spec, Places)> {
    let mut source = Source::new(file, text, GUIDE);
    let parsed = source.parse()?;
    let mut root = Table::root(parsed.get_ref());
    let s = &mut source;
    let title = root.text(s, "title", "text", plain)?;
    let story = optional(&mut root, s, "story", "text", plain)?.unwrap_or_default();
    let notes = list(&mut root, s, "notes")?;
    let unseen = list(&mut root, s, "unseen")?;
    let marks = list(&mut root, s, "marks")?;
    let ambient_k = optional(&mut root, s, "ambient", TEMPERATURE, weather)?.unwrap_or(293.15);
    let duration_s = root.text(s, "duration", "a time, \"1 s\" to \"60 min\"", |text| {
        seconds_within(text, 1.0, 3600.0)
    })?;
    let frame_s = optional(
        &mut root,
        s,
        "frame_every",
        "a time, \"0.03 s\" to \"60 s\"",
        |text| seconds_within(text, 0.03, 60.0),
    )?
    .unwrap_or(0.5);
    let size = optional(
        &mut root,
        s,
        "size",
        "columns x rows, \"8x8\" to \"1280x1024\"",
        size,
    )?
    .unwrap_or((320, 240));
    let seed = whole(&mut root, s, "seed", 1)?;
    let step_s = optional(
        &mut root,
        s,
        "step",
        "a time, \"0.1 s\" to \"10 s\"",
        |text| seconds_within(text, 0.1, 10.0),
    )?
    .unwrap_or(1.0);
    let zone_m = number_or(&mut root, s, "zone", (0.1, 5.0), "m", 0.5)?;
    let mut spec = Spec {
        title,
        story,
        notes,
        ambient_k,
        duration_s,
        frame_s,
        size,
        seed,
        step_s,
        zone_m,
        rooms: Vec::new(),
        openings: Vec::new(),
        objects: Vec::new(),
        fire: None,
        sprays: Vec::new(),
        path: Vec::new(),
        marks,
        unseen,
    };
    for table in root.tables(s, "rooms")? {
        spec.rooms.push(room(table, s)?);
    }
    for table in some_tables(&mut root, s, "openings")? {
        spec.openings.push(opening(table, s)?);
    }
    for table in some_tables(&mut root, s, "objects")? {
        spec.objects.push(object(table, s, ambient_k)?);
    }
    if root.takes("fire") {
        spec.fire = Some(fire(root.table(s, "fire")?, s)?);
    }
    for table in some_tables(&mut root, s, "sprays")? {
        spec.sprays.push(spray(table, s, duration_s)?);
    }
    let mut field = 38.0;
    for mut table in root.tables(s, "imager")? {
        let t = &mut table;
        let at_s = optional(t, s, "at", TIME, seconds)?.unwrap_or(0.0);
        let position = place(t, s, "position")?;
        let look_at = place(t, s, "look_at")?;
        field = number_or(t, s, "field_of_view", (5.0, 100.0), "degrees", field)?;
        table.finish(s)?;
        spec.path.push(Key {
            at_s,
            position,
            look_at,
            field_of_view_deg: field,
        });
    }
    root.finish(s)?;
    Ok((spec, source.places))
}

fn face(
    table: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
    default: &FaceSpec,
) -> Read<FaceSpec> {
    if !table.takes(key) {
        return Ok(default.clone());
    }
    let mut face = table.table(s, key)?;
    let t = &mut face;
    let mut found = default.clone();
    if let Some(named) = optional(t, s, "assembly", &assembly_names(), known_assembly)? {
        found.assembly = named;
    }
    let emissivity = found.assembly.emissivity_room;
    let emissivity = number_or(t, s, "emissivity", (0.02, 1.0), "", emissivity)?;
    found.assembly.emissivity_room = emissivity;
    found.studs_m = number_or(t, s, "studs", (0.1, 2.0), "m", found.studs_m)?;
    found.offset_k = number_or(t, s, "offset", (-20.0, 40.0), "K", found.offset_k)?;
    face.finish(s)?;
    Ok(found)
}

fn room(mut table: Table<'_, '_>, s: &mut Source<'_>) -> Read<RoomSpec> {
    let t = &mut table;
    let name = t.text(s, "name", "text", plain)?;
    let corner = place(t, s, "corner")?;
    let size = DVec3::from_array(t.numbers(s, "size", (0.3, 100.0), "m")?);
    let bare = |assembly: Assembly| FaceSpec {
        assembly,
        studs_m: 0.0,
        offset_k: 0.0,
    };
    let walls = t.text(s, "walls", &assembly_names(), known_assembly)?;
    let ceiling = optional(t, s, "ceiling_assembly", &assembly_names(), known_assembly)?
        .unwrap_or_else(|| walls.clone());
    let floor = optional(t, s, "floor_assembly", &assembly_names(), known_assembly)?
        .unwrap_or_else(|| ceiling.clone());
    let faces = [
        face(t, s, "left", &bare(walls.clone()))?,
        face(t, s, "right", &bare(walls.clone()))?,
        face(t, s, "front", &bare(walls.clone()))?,
        face(t, s, "back", &bare(walls))?,
        face(t, s, "floor", &bare(floor))?,
        face(t, s, "ceiling", &bare(ceiling))?,
    ];
    table.finish(s)?;
    Ok(RoomSpec {
        name,
        corner,
        size,
        faces,
    })
}

fn opening(mut table: Table<'_, '_>, s: &mut Source<'_>) -> Read<OpeningSpec> {
    #[derive(Clone, Copy)]
    enum Kind {
        Open,
        Closed,
        Glass,
    }
    let t = &mut table;
    let name = t.text(s, "name", "text", plain)?;
    let room = t.text(s, "room", "name of a room", plain)?;
    let side = t.word(s, "side", &Side::ALL[..4])?;
    let from_m = t.number(s, "from", (0.0, 100.0), "m")?;
    let width_m = t.number(s, "width", (0.05, 50.0), "m")?;
    let sill_m = number_or(t, s, "sill", (0.0, 50.0), "m", 0.0)?;
    let height_m = t.number(s, "height", (0.05, 50.0), "m")?;
    let kind = t.word(
        s,
        "kind",
        &[
            ("open", Kind::Open),
            ("closed", Kind::Closed),
            ("glass", Kind::Glass),
        ],
    )?;
    let filling = match kind {
        Kind::Open => Filling::Open,
        Kind::Closed => {
            Filling::Closed(t.text(s, "assembly", &assembly_names(), known_assembly)?)
        }
        Kind::Glass => {
            let pane = optional(t, s, "assembly", &assembly_names(), known_assembly)?;
            Filling::Glass(pane.unwrap_or_else(things::pane))
        }
    };
    // An open hole has nothing that could lie behind its wall's face.
    let recess_m = if matches!(kind, Kind::Open) {
        0.0
    } else {
        number_or(t, s, "recess", (0.002, 0.1), "m", 0.04)?
    };
    table.finish(s)?;
    Ok(OpeningSpec {
        name,
        room,
        side,
        from_m,
        width_m,
        sill_m,
        height_m,
        recess_m,
        filling,
    })
}

fn fire(mut table: Table<'_, '_>, s: &mut Source<'_>) -> Read<FireSpec> {
    let t = &mut table;
    let position = place(t, s, "position")?;
    let alpha_kw_s2 = if t.takes("alpha") {
        t.number(s, "alpha", (1e-4, 10.0), "kW/s²")?
    } else {
        t.word(
            s,
            "growth",
            &[
                ("slow", Growth::SLOW),
                ("medium", Growth::MEDIUM),
                ("fast", Growth::FAST),
                ("ultrafast", Growth::ULTRAFAST),
            ],
        )?
    };
    let peak_kw = t.text(s, "peak", "a power, \"1 kW\" to \"20 MW\"", |text| {
        let value = measured(text, &[("kW", 1.0), ("MW", 1000.0)])?;
        if (1.0..=20_000.0).contains(&value) {
            Ok(value)
        } else {
            Err("is out of its limits".to_owned())
        }
    })?;
    let diameter_m = t.number(s, "diameter", (0.1, 10.0), "m")?;
    let start_s = optional(
        t,
        s,
        "starts",
        "a time, \"-60 min\" to \"60 min\"",
        |text| seconds_within(text, -3600.0, 3600.0),
    )?
    .unwrap_or(0.0);
    let knocked_down_s = optional(
        t,
        s,
        "knocked_down",
        "a time, \"-60 min\" to \"60 min\"",
        |text| seconds_within(text, -3600.0, 3600.0),
    )?;
    let knock_down_takes_s = optional(
        t,
        s,
        "knock_down_takes",
        "a time, \"1 s\" to \"30 min\"",
        |text| seconds_within(text, 1.0, 1800.0),
    )?
    .unwrap_or(20.0);
    let smoke_per_m = number_or(t, s, "smoke", (0.0, 5.0), "1/m", 0.3)?;
    let embers = optional_bool(t, s, "embers")?;
    table.finish(s)?;
    Ok(FireSpec {
        position,
        alpha_kw_s2,
        peak_kw,
        diameter_m,
        start_s,
        knocked_down_s,
        knock_down_takes_s,
        smoke_per_m,
        embers,
    })
}

fn spray(mut table: Table<'_, '_>, s: &mut Source<'_>, duration_s: f64) -> Read<SpraySpec> {
    let t = &mut table;
    let on = t.text(s, "on", "\"room.side\", an opening or an object", plain)?;
    let from_s = optional(t, s, "from", TIME, seconds)?.unwrap_or(0.0);
    let until_s = optional(t, s, "until", TIME, seconds)?.unwrap_or(duration_s);
    let rate_kg_m2s = number_or(t, s, "rate", (1e-4, 1.0), "kg/(m² s)", 0.02)?;
    let water_k = optional(
        t,
        s,
        "water",
        "a temperature, \"0.1 C\" to \"60 C\"",
        |text| kelvin(text, 273.25, 333.15),
    )?
    .unwrap_or(285.15);
    table.finish(s)?;
    Ok(SpraySpec {
        on,
        from_s,
        until_s,
        rate_kg_m2s,
        water_k,
    })
}
