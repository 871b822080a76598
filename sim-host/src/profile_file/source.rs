//! Tables of a TOML text whose every value knows its path and line.

use std::collections::BTreeMap;

use glowsill_core::profile::{Field, MAX_BANDS, ProfileError};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{ProfileFileError, value};

/// Where each field that was read stands, and how it was written.
#[derive(Debug, Default)]
pub(crate) struct Places(BTreeMap<String, (usize, String)>);

impl Places {
    fn find(&self, path: &str) -> (usize, Option<&str>) {
        let mut part = path;
        loop {
            if let Some((line, written)) = self.0.get(part) {
                return (*line, (part == path).then_some(written.as_str()));
            }
            match part.rfind('.') {
                Some(dot) => part = &part[..dot],
                None => return (1, None),
            }
        }
    }

    /// An error about a field that was read, which only makes no sense beside others.
    pub(crate) fn refuse(
        &self,
        file: &str,
        path: &str,
        problem: &str,
        allowed: &str,
        next: &str,
    ) -> ProfileFileError {
        let (line, written) = self.find(path);
        let problem = match written {
            Some(written) if !written.is_empty() => format!("= {written} {problem}"),
            _ => problem.to_owned(),
        };
        ProfileFileError::Field {
            file: file.to_owned(),
            line,
            field: path.to_owned(),
            problem,
            allowed: allowed.to_owned(),
            next: next.to_owned(),
        }
    }

    /// Turns a limit that core found broken into an error that points into the file.
    pub(crate) fn explain(&self, error: ProfileError, file: &str) -> ProfileFileError {
        let path = match error.field {
            Field::BandStart(n) => format!("colour.bands[{n}].start"),
            Field::BandColour(n) => format!("colour.bands[{n}].colour"),
            Field::RampEnd => "colour.ramp_end.temperature".to_owned(),
            other => other.path().to_owned(),
        };
        let (line, written) = self.find(&path);
        let shown = written.map_or_else(|| value::limit(error.field, error.value), str::to_owned);
        let range = format!(
            "{} to {}",
            value::limit(error.field, error.min),
            value::limit(error.field, error.max)
        );
        if let Field::BandStart(_) | Field::CeilingStart = error.field
            && let Some(explained) = self.out_of_order(&path, file)
        {
            return explained;
        }
        let (problem, allowed, next) = match error.field {
            Field::RampEnd if error.value < 0 && written.is_some() => (
                "is given, but the last band is flat".to_owned(),
                "a ramp end exactly when the last band has fill = \"ramp\"".to_owned(),
                "Remove [colour.ramp_end], or make the last band a ramp".to_owned(),
            ),
            Field::RampEnd if error.value < 0 => (
                "is missing, but the last band is a ramp".to_owned(),
                "a ramp end exactly when the last band has fill = \"ramp\"".to_owned(),
                "Add [colour.ramp_end] with temperature and colour, or make the last band flat"
                    .to_owned(),
            ),
            Field::BandColour(_) => (
                format!(
                    "= {shown}: under this tint it follows the grey picture strictly at {} of 255 \
                     grey steps only",
                    error.value
                ),
                "colours (the course of a ramp included) that rise at all 255".to_owned(),
                "Lower overlay.knee, raise overlay.lift, or choose a purer colour whose strongest \
                 channel is at least the knee"
                    .to_owned(),
            ),
            field => (
                format!("= {shown} is out of its limits"),
                range,
                next_step(field).to_owned(),
            ),
        };
        ProfileFileError::Field {
            file: file.to_owned(),
            line,
            field: path,
            problem,
            allowed,
            next,
        }
    }
}

/// A temperature of the file that must lie above the one before.
struct Step {
    path: String,
    line: usize,
    written: String,
    code: i32,
}

/// 1 K, in the codes of [`Step`].
const STEP: i32 = 32;

fn rising<'s>(steps: impl Iterator<Item = &'s Step>) -> bool {
    let codes: Vec<i32> = steps.map(|step| step.code).collect();
    codes.windows(2).all(|pair| pair[0] + STEP <= pair[1])
}

impl Places {
    fn step(&self, path: String) -> Option<Step> {
        let (line, written) = self.0.get(&path)?;
        let code = value::temperature(written.trim_matches(['"', '\''])).ok()?;
        Some(Step {
            path,
            line: *line,
            written: written.clone(),
            code: i32::from(code.to_bits()),
        })
    }

    /// Bands and ceiling that do not rise, of which core found the one at `path`: names the one that stands out,
    /// or both where either may be meant.
    fn out_of_order(&self, path: &str, file: &str) -> Option<ProfileFileError> {
        let bands = (1..=MAX_BANDS).map(|n| format!("colour.bands[{n}].start"));
        let steps: Vec<Step> = bands
            .chain(["colour.ceiling.start".to_owned()])
            .filter_map(|path| self.step(path))
            .collect();
        let later = steps.iter().position(|step| step.path == path)?;
        let earlier = later.checked_sub(1)?;
        let without = |index: usize| {
            let left = steps.iter().enumerate().filter(move |(n, _)| *n != index);
            rising(left.map(|(_, step)| step))
        };
        let (wrong, other) = if without(earlier) && !without(later) {
            (earlier, later)
        } else {
            (later, earlier)
        };
        let room = |index: usize| {
            let low = index
                .checked_sub(1)
                .map_or(1, |below| steps[below].code + STEP);
            let high = steps
                .get(index + 1)
                .map_or(i32::from(u16::MAX), |above| above.code - STEP);
            let field = Field::CeilingStart;
            (low <= high).then(|| {
                format!(
                    "{} to {}",
                    value::limit(field, low),
                    value::limit(field, high)
                )
            })
        };
        let (at, beside) = (&steps[wrong], &steps[other]);
        let relation = if wrong > other { "above" } else { "below" };
        let either = without(earlier) && without(later);
        let elsewhere = room(other)
            .filter(|_| either)
            .map_or_else(String::new, |room| {
                format!(", or correct {} to {room}", beside.path)
            });
        Some(ProfileFileError::Field {
            file: file.to_owned(),
            line: at.line,
            field: at.path.clone(),
            problem: format!(
                "= {} is not at least 1 K {relation} {} = {} (line {})",
                at.written, beside.path, beside.written, beside.line
            ),
            allowed: room(wrong).unwrap_or_else(|| {
                "bands in rising order, then the ceiling, each at least 1 K above the one before".to_owned()
            }),
            next: format!("Correct it{elsewhere}"),
        })
    }
}

fn next_step(field: Field) -> &'static str {
    match field {
        Field::BlendTo => "Keep blend_to at least 1 K above blend_from",
        Field::LeaveAbove => "Keep leave_above at or below enter_above",
        Field::StartHigh => "Keep start_high at least 2 K above start_low",
        Field::HighShare => "Keep high_share above low_share",
        Field::BandStart(_) => "Let each band start at least 1 K above the one before",
        Field::RampEnd => "Let the ramp end at least 1 K above the last band's start",
        Field::CeilingStart => "Let the ceiling start at least 1 K above the last band's start",
        Field::BandCount => "Give 1 to 6 [[colour.bands]]; for none write plan = \"grey-only\"",
        Field::StopCount => "Give 2 to 12 colours",
        Field::Name => "Give a short name",
        _ => "Choose a value inside the limits; docs/profile-format.md says what the field does",
    }
}

/// Every field of a profile file, wherever it stands: none of them is a misspelling of another.
const FIELDS: &[&str] = &[
    "name",
    "purpose",
    "gain",
    "scale",
    "colour",
    "overlay",
    "plan",
    "blend_from",
    "blend_to",
    "dispute",
    "enter_above",
    "enter_share",
    "enter_frames",
    "leave_above",
    "leave_share",
    "leave_frames",
    "blank_frames",
    "law",
    "start_low",
    "start_high",
    "frames_to_hotter",
    "frames_to_colder",
    "min_span",
    "max_grey_per_kelvin",
    "low_share",
    "high_share",
    "plateau",
    "weight",
    "hysteresis",
    "bands",
    "start",
    "fill",
    "ramp_end",
    "temperature",
    "ceiling",
    "stops",
    "style",
    "opacity",
    "knee",
    "lift",
];

/// Whether one word is likely a misspelling of the other: one slip, or two in a longer word.
fn near(written: &str, known: &str) -> bool {
    let slips = if known.len() > 5 { 2 } else { 1 };
    strsim::osa_distance(written, known) <= slips
}

fn real(value: &DeValue<'_>) -> Option<f64> {
    let number = value
        .as_float()
        .and_then(|float| float.as_str().replace('_', "").parse().ok())
        .or_else(|| {
            let whole = value.as_integer()?;
            let whole = i64::from_str_radix(whole.as_str(), whole.radix()).ok()?;
            i32::try_from(whole).ok().map(f64::from)
        });
    number.filter(|number: &f64| number.is_finite())
}

/// The text, and what was found in it so far.
pub(crate) struct Source<'a> {
    pub(crate) file: &'a str,
    pub(crate) text: &'a str,
    pub(crate) places: Places,
    /// The document that describes the fields, such as `docs/profile-format.md`.
    pub(crate) guide: &'static str,
}

impl<'a> Source<'a> {
    /// A text of which nothing has been read; `guide` is the document that describes its fields.
    pub(crate) fn new(file: &'a str, text: &'a str, guide: &'static str) -> Self {
        Self {
            file,
            text,
            places: Places::default(),
            guide,
        }
    }

    /// The parsed text.
    pub(crate) fn parse(&self) -> Result<Spanned<DeTable<'a>>, ProfileFileError> {
        DeTable::parse(self.text).map_err(|error| ProfileFileError::Syntax {
            file: self.file.to_owned(),
            line: self.line(error.span().map_or(0, |span| span.start)),
            problem: error.message().to_owned(),
            guide: self.guide,
        })
    }

    pub(crate) fn line(&self, at: usize) -> usize {
        self.text
            .as_bytes()
            .iter()
            .take(at)
            .filter(|byte| **byte == b'\n')
            .count()
            + 1
    }
}

/// One table being read; every key must be taken before [`Table::finish`].
pub(crate) struct Table<'t, 'a> {
    path: String,
    line: usize,
    entries: &'t DeTable<'a>,
    known: Vec<&'static str>,
}

type Entry<'t, 'a> = (usize, &'t Spanned<DeValue<'a>>);

impl<'t, 'a> Table<'t, 'a> {
    pub(crate) fn root(entries: &'t DeTable<'a>) -> Self {
        Self {
            path: String::new(),
            line: 1,
            entries,
            known: Vec::new(),
        }
    }

    fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// An error about a key of this table.
    pub(crate) fn error(
        &self,
        source: &Source<'_>,
        key: &str,
        problem: String,
        allowed: &str,
    ) -> ProfileFileError {
        let path = self.path_of(key);
        let (found, _) = source.places.find(&path);
        ProfileFileError::Field {
            file: source.file.to_owned(),
            line: if source.places.0.contains_key(&path) {
                found
            } else {
                self.line
            },
            field: path,
            problem,
            allowed: allowed.to_owned(),
            next: format!("{} says what the field does", source.guide),
        }
    }

    fn entry(&mut self, source: &mut Source<'_>, key: &'static str) -> Option<Entry<'t, 'a>> {
        self.expects(&[key]);
        let (name, found) = self
            .entries
            .iter()
            .find(|(name, _)| name.get_ref() == key)?;
        let line = source.line(name.span().start);
        let written = source.text.get(found.span()).unwrap_or_default().to_owned();
        source.places.0.insert(self.path_of(key), (line, written));
        Some((line, found))
    }

    /// Names keys that this table can hold, so that an error about any of them lists all.
    pub(crate) fn expects(&mut self, keys: &[&'static str]) {
        for key in keys {
            if !self.known.contains(key) {
                self.known.push(key);
            }
        }
    }

    /// Whether an optional key is there; from now on it is known.
    pub(crate) fn takes(&mut self, key: &'static str) -> bool {
        self.expects(&[key]);
        self.entries.iter().any(|(name, _)| name.get_ref() == key)
    }

    fn needed(
        &mut self,
        source: &mut Source<'_>,
        key: &'static str,
        allowed: &str,
    ) -> Result<Entry<'t, 'a>, ProfileFileError> {
        if let Some(entry) = self.entry(source, key) {
            return Ok(entry);
        }
        let strange = |name: &&Spanned<_>| {
            let name: &str = Spanned::<std::borrow::Cow<'_, str>>::get_ref(*name).as_ref();
            !FIELDS.contains(&name) && near(name, key)
        };
        match self.entries.iter().map(|(name, _)| name).find(strange) {
            Some(name) => Err(self.unknown(source, name)),
            None => Err(self.error(source, key, "is missing".to_owned(), allowed)),
        }
    }

    /// An error about a key that is no field here, with the field that was probably meant.
    fn unknown(
        &self,
        source: &Source<'_>,
        name: &Spanned<std::borrow::Cow<'a, str>>,
    ) -> ProfileFileError {
        let written = name.get_ref().as_ref();
        let meant = self
            .known
            .iter()
            .filter(|known| near(written, known))
            .min_by_key(|known| strsim::osa_distance(written, known));
        ProfileFileError::Field {
            file: source.file.to_owned(),
            line: source.line(name.span().start),
            field: self.path_of(written),
            problem: meant.map_or_else(
                || "is not a field here".to_owned(),
                |meant| format!("is not a field here; did you mean {}?", self.path_of(meant)),
            ),
            allowed: self.known.join(", "),
            next: "Correct its spelling, or remove it: a field that does nothing would mislead"
                .to_owned(),
        }
    }

    /// A sub-table.
    pub(crate) fn table(
        &mut self,
        source: &mut Source<'_>,
        key: &'static str,
    ) -> Result<Table<'t, 'a>, ProfileFileError> {
        let allowed = format!("a table, [{}]", self.path_of(key));
        let (line, found) = self.needed(source, key, &allowed)?;
        let Some(entries) = found.get_ref().as_table() else {
            return Err(self.error(source, key, "is not a table".to_owned(), &allowed));
        };
        Ok(Table {
            path: self.path_of(key),
            line,
            entries,
            known: Vec::new(),
        })
    }

    /// An array of tables, `[[…]]`, numbered from 1 in paths.
    pub(crate) fn tables(
        &mut self,
        source: &mut Source<'_>,
        key: &'static str,
    ) -> Result<Vec<Table<'t, 'a>>, ProfileFileError> {
        let allowed = format!("tables headed [[{}]]", self.path_of(key));
        let (_, found) = self.needed(source, key, &allowed)?;
        let wrong = |table: &Self, source: &Source<'_>| {
            table.error(
                source,
                key,
                "is not an array of tables".to_owned(),
                &allowed,
            )
        };
        let Some(array) = found.get_ref().as_array() else {
            return Err(wrong(self, source));
        };
        let mut tables = Vec::new();
        for (number, item) in (1..).zip(array.iter()) {
            let Some(entries) = item.get_ref().as_table() else {
                return Err(wrong(self, source));
            };
            let path = format!("{}[{number}]", self.path_of(key));
            let line = source.line(item.span().start);
            source.places.0.insert(path.clone(), (line, String::new()));
            tables.push(Table {
                path,
                line,
                entries,
                known: Vec::new(),
            });
        }
        Ok(tables)
    }

    /// A text, read by `convert`, whose error text completes "field = value …".
    pub(crate) fn text<T>(
        &mut self,
        source: &mut Source<'_>,
        key: &'static str,
        allowed: &str,
        convert: impl Fn(&str) -> Result<T, String>,
    ) -> Result<T, ProfileFileError> {
        let (_, found) = self.needed(source, key, allowed)?;
        let Some(text) = found.get_ref().as_str() else {
            let kind = found.get_ref().type_str();
            return Err(self.error(
                source,
                key,
                format!("is {kind}, not text in quotes"),
                allowed,
            ));
        };
        convert(text)
            .map_err(|why| self.error(source, key, format!("= \"{text}\": {why}"), allowed))
    }

    /// A number between limits, such as a length in metres.
    pub(crate) fn number(
        &mut self,
        source: &mut Source<'_>,
        key: &'static str,
        (min, max): (f64, f64),
        unit: &str,
    ) -> Result<f64, ProfileFileError> {
        let allowed = format!("a number, {min} to {max} {unit}");
        let (_, found) = self.needed(source, key, &allowed)?;
        real(found.get_ref())
            .filter(|number| (min..=max).contains(number))
            .ok_or_else(|| self.out_of_limits(source, key, &allowed))
    }

    /// Numbers between limits, such as a place in metres.
    pub(crate) fn numbers<const N: usize>(
        &mut self,
        source: &mut Source<'_>,
        key: &'static str,
        (min, max): (f64, f64),
        unit: &str,
    ) -> Result<[f64; N], ProfileFileError> {
        let allowed = format!("{N} numbers in brackets, {min} to {max} {unit}");
        let (_, found) = self.needed(source, key, &allowed)?;
        let numbers = found.get_ref().as_array().and_then(|array| {
            let numbers: Option<Vec<f64>> = array.iter().map(|item| real(item.get_ref())).collect();
            <[f64; N]>::try_from(numbers?).ok()
        });
        numbers
            .filter(|numbers| numbers.iter().all(|number| (min..=max).contains(number)))
            .ok_or_else(|| self.out_of_limits(source, key, &allowed))
    }

    fn out_of_limits(&self, source: &Source<'_>, key: &str, allowed: &str) -> ProfileFileError {
        let shown = source.places.find(&self.path_of(key)).1.unwrap_or_default();
        self.error(
            source,
            key,
            format!("= {shown} is out of its limits"),
            allowed,
        )
    }

    /// One of a few words.
    pub(crate) fn word<T: Copy>(
        &mut self,
        source: &mut Source<'_>,
        key: &'static str,
        words: &[(&str, T)],
    ) -> Result<T, ProfileFileError> {
        let names: Vec<_> = words
            .iter()
            .map(|(word, _)| format!("\"{word}\""))
            .collect();
        self.text(source, key, &names.join(", "), |text| {
            words
                .iter()
                .find(|(word, _)| *word == text)
                .map(|(_, meaning)| *meaning)
                .ok_or_else(|| {
                    let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
                    nearest(text, &known).map_or_else(
                        || "is not one of the words known here".to_owned(),
                        |near| format!("is not known here; did you mean \"{near}\"?"),
                    )
                })
        })
    }

    /// A whole number of 0 to 255 that core may limit further.
    pub(crate) fn byte(
        &mut self,
        source: &mut Source<'_>,
        key: &'static str,
        min: u8,
        max: u8,
    ) -> Result<u8, ProfileFileError> {
        let allowed = format!("a whole number, {min} to {max}");
        let (_, found) = self.needed(source, key, &allowed)?;
        let shown = source
            .places
            .find(&self.path_of(key))
            .1
            .unwrap_or_default()
            .to_owned();
        let Some(number) = found.get_ref().as_integer() else {
            return Err(self.error(
                source,
                key,
                format!("= {shown} is not a whole number"),
                &allowed,
            ));
        };
        i64::from_str_radix(number.as_str(), number.radix())
            .ok()
            .and_then(|number| u8::try_from(number).ok())
            .filter(|number| (min..=max).contains(number))
            .ok_or_else(|| {
                self.error(
                    source,
                    key,
                    format!("= {shown} is out of its limits"),
                    &allowed,
                )
            })
    }

    /// A list of texts.
    pub(crate) fn texts<T>(
        &mut self,
        source: &mut Source<'_>,
        key: &'static str,
        allowed: &str,
        convert: impl Fn(&str) -> Result<T, String>,
    ) -> Result<Vec<T>, ProfileFileError> {
        let (_, found) = self.needed(source, key, allowed)?;
        let Some(array) = found.get_ref().as_array() else {
            return Err(self.error(source, key, "is not a list".to_owned(), allowed));
        };
        let mut values = Vec::new();
        for item in array.iter() {
            let text = item.get_ref().as_str().unwrap_or_default();
            values.push(convert(text).map_err(|why| {
                self.error(source, key, format!("holds \"{text}\": {why}"), allowed)
            })?);
        }
        Ok(values)
    }

    /// Refuses keys that nobody asked for.
    pub(crate) fn finish(self, source: &Source<'_>) -> Result<(), ProfileFileError> {
        let Some((name, _)) = self
            .entries
            .iter()
            .find(|(name, _)| !self.known.iter().any(|k| *k == name.get_ref()))
        else {
            return Ok(());
        };
        Err(self.unknown(source, name))
    }
}

/// The word that is nearest to a misspelt one, if one is near enough to be meant.
pub(crate) fn nearest<'k>(written: &str, known: &[&'k str]) -> Option<&'k str> {
    known
        .iter()
        .map(|word| (strsim::osa_distance(written, word), *word))
        .min()
        .filter(|(slips, word)| *slips <= 1 + word.len() / 4)
        .map(|(_, word)| word)
}
