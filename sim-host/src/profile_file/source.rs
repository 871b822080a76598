//! Tables of a TOML text whose every value knows its path and line.

mod misspelt;
mod places;
mod values;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::ProfileFileError;
pub(crate) use misspelt::nearest;
use misspelt::{FIELDS, near};
pub(crate) use places::Places;

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
