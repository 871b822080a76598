//! The values of a table: texts, numbers, words, and lists of them.

use toml::de::DeValue;

use super::misspelt::nearest;
use super::{Source, Table};
use crate::profile_file::ProfileFileError;

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

impl Table<'_, '_> {
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
        let Some(number) = found.get_ref().as_integer() else {
            let shown = source.places.find(&self.path_of(key)).1.unwrap_or_default();
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
            .ok_or_else(|| self.out_of_limits(source, key, &allowed))
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
}
