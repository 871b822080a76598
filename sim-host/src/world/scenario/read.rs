//! TOML → [`Spec`], with errors that say line, field, value, limits and next step.

use glam::DVec3;

use super::spec::{
    EmberSpec, FaceSpec, Filling, FireSpec, Key, ObjectSpec, OpeningSpec, RoomSpec, Side, Spec,
    SpraySpec,
};
use super::things::{self, Material};
use crate::profile_file::ProfileFileError;
use crate::profile_file::source::{Places, Source, Table, nearest};
use crate::temperature::Kelvin;
use crate::world::conduction::{Assembly, assembly, assembly_library};
use crate::world::fire::growth::Growth;
use crate::world::rounding::floor_index;

type Read<T> = Result<T, ProfileFileError>;

pub(super) const GUIDE: &str = "docs/scenarios.md";
const PLACE: (f64, f64) = (-200.0, 200.0);

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

const TEMPERATURE: &str = "a temperature, \"-40 C\" to \"60 C\", such as \"20 C\" or \"68 F\"";
const TIME: &str = "a time, such as \"90 s\" or \"2 min\"";

fn plain(text: &str) -> Result<String, String> {
    if text.trim().is_empty() {
        Err("is empty".to_owned())
    } else {
        Ok(text.to_owned())
    }
}

fn optional<T>(
    table: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
    allowed: &str,
    convert: impl Fn(&str) -> Result<T, String>,
) -> Read<Option<T>> {
    if table.takes(key) {
        table.text(s, key, allowed, convert).map(Some)
    } else {
        Ok(None)
    }
}

fn list(table: &mut Table<'_, '_>, s: &mut Source<'_>, key: &'static str) -> Read<Vec<String>> {
    if table.takes(key) {
        table.texts(s, key, "texts in brackets", plain)
    } else {
        Ok(Vec::new())
    }
}

fn number_or(
    table: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
    limits: (f64, f64),
    unit: &str,
    default: f64,
) -> Read<f64> {
    if table.takes(key) {
        table.number(s, key, limits, unit)
    } else {
        Ok(default)
    }
}

fn whole(
    table: &mut Table<'_, '_>,
    s: &mut Source<'_>,
    key: &'static str,
    default: u64,
) -> Read<u64> {
    if !table.takes(key) {
        return Ok(default);
    }
    let value = table.number(s, key, (0.0, 1e9), "(whole)")?;
    if value.fract() == 0.0 {
        u64::try_from(floor_index(value, 1_000_000_000)).map_or(Ok(default), Ok)
    } else {
        Err(table.error(
            s,
            key,
            format!("= {value} is not whole"),
            "a whole number, 0 to 1e9",
        ))
    }
}

fn some_tables<'t, 'a>(
    table: &mut Table<'t, 'a>,
    s: &mut Source<'_>,
    key: &'static str,
) -> Read<Vec<Table<'t, 'a>>> {
    if table.takes(key) {
        table.tables(s, key)
    } else {
        Ok(Vec::new())
    }
}

fn place(table: &mut Table<'_, '_>, s: &mut Source<'_>, key: &'static str) -> Read<DVec3> {
    Ok(DVec3::from_array(table.numbers(s, key, PLACE, "m")?))
}

fn size(text: &str) -> Result<(usize, usize), String> {
    let form = || "is not a size: write columns x rows, such as \"320x240\"".to_owned();
    let (columns, rows) = text.split_once('x').ok_or_else(form)?;
    let number = |part: &str| part.trim().parse::<usize>().map_err(|_| form());
    let size = (number(columns)?, number(rows)?);
    if (8..=1280).contains(&size.0) && (8..=1024).contains(&size.1) {
        Ok(size)
    } else {
        Err("is out of its limits".to_owned())
    }
}

/// A number with one of some units, each with its factor.
fn measured(text: &str, units: &[(&str, f64)]) -> Result<f64, String> {
    let shown: Vec<_> = units.iter().map(|(unit, _)| *unit).collect();
    let form = || format!("is not a number with a unit ({})", shown.join(", "));
    let text = text.trim();
    let split = text
        .find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c)))
        .ok_or_else(form)?;
    let (number, unit) = text.split_at(split);
    let number: f64 = number.parse().map_err(|_| form())?;
    let factor = units.iter().find(|(name, _)| *name == unit.trim());
    factor.map(|(_, factor)| number * factor).ok_or_else(form)
}

/// A time as people write it, `"90 s"` or `"1.5 min"`, in seconds.
///
/// # Errors
/// What is wrong, to complete "field = value".
pub fn seconds(text: &str) -> Result<f64, String> {
    seconds_within(text, 0.0, 36_000.0)
}

fn seconds_within(text: &str, low: f64, high: f64) -> Result<f64, String> {
    let value = measured(text, &[("s", 1.0), ("min", 60.0), ("h", 3600.0)])?;
    if (low..=high).contains(&value) {
        Ok(value)
    } else {
        Err("is out of its limits".to_owned())
    }
}

fn kelvin(text: &str, low: f64, high: f64) -> Result<f64, String> {
    let value = text.parse::<Kelvin>().map_err(|error| error.to_string())?;
    if (low..=high).contains(&value.0) {
        Ok(value.0)
    } else {
        Err(format!("is outside {} to {}", Kelvin(low), Kelvin(high)))
    }
}

fn weather(text: &str) -> Result<f64, String> {
    kelvin(text, 233.15, 333.15)
}

const THICKNESS: &str = "a thickness, \"0.1 mm\" to \"1 m\", such as \"12.5 mm\"";

fn thickness(text: &str) -> Result<f64, String> {
    let value = measured(text, &[("mm", 1e-3), ("cm", 1e-2), ("m", 1.0)])?;
    if (1e-4..=1.0).contains(&value) {
        Ok(value)
    } else {
        Err("is out of its limits".to_owned())
    }
}

fn assembly_names() -> String {
    let names: Vec<_> = assembly_library().iter().map(|one| one.name).collect();
    names.join(", ")
}

fn known_assembly(text: &str) -> Result<Assembly, String> {
    assembly(text).cloned().map_err(|_| {
        let names: Vec<_> = assembly_library().iter().map(|one| one.name).collect();
        nearest(text, &names).map_or_else(
            || "is no assembly".to_owned(),
            |near| format!("is no assembly; did you mean \"{near}\"?"),
        )
    })
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

fn optional_bool(table: &mut Table<'_, '_>, s: &mut Source<'_>, key: &'static str) -> Read<bool> {
    if table.takes(key) {
        table.word(s, key, &[("yes", true), ("no", false)])
    } else {
        Ok(false)
    }
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

fn object(mut table: Table<'_, '_>, s: &mut Source<'_>, ambient_k: f64) -> Read<ObjectSpec> {
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
