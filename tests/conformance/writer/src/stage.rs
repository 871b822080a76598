//! Gathers the vectors of one stage and writes them as text.

use std::collections::BTreeMap;

use glowsill_oracle::exact;
use glowsill_vectors::{Source, Tolerance, Vector, VectorFile, compare};
use serde_json::{Map, Value, json};

/// The vectors of a stage being gathered.
pub(crate) struct Stage {
    file: VectorFile,
    /// Which fields of an answer are lists.
    lists: Vec<bool>,
}

type Made = Result<(), String>;

impl Stage {
    /// `answer` fields that are lists end in `[]`.
    pub(crate) fn new(
        stage: &str,
        word: &str,
        about: &str,
        request: &[&str],
        answer: &[&str],
        notes: &[(&str, &str)],
    ) -> Self {
        let plain = |field: &&str| field.trim_end_matches("[]").to_owned();
        Self {
            file: VectorFile {
                format: "glowsill-vectors".to_owned(),
                version: 1,
                stage: stage.to_owned(),
                about: about.to_owned(),
                word: word.to_owned(),
                request: request.iter().map(plain).collect(),
                answer: answer.iter().map(plain).collect(),
                notes: notes
                    .iter()
                    .map(|(flag, note)| ((*flag).to_owned(), (*note).to_owned()))
                    .collect(),
                vectors: Vec::new(),
            },
            lists: answer.iter().map(|field| field.ends_with("[]")).collect(),
        }
    }

    pub(crate) fn name(&self) -> &str {
        &self.file.stage
    }

    pub(crate) fn len(&self) -> usize {
        self.file.vectors.len()
    }

    /// A vector with a hand table.
    pub(crate) fn hand(
        &mut self,
        number: u32,
        comment: &str,
        flags: &[&str],
        inputs: Value,
        expected: Value,
    ) -> Made {
        let vector = self.vector(number, comment, flags, inputs, Source::Hand, Some(expected))?;
        let exact = self.exact_line(&vector)?;
        let mismatch = compare(&self.file, &vector, &exact).map_err(|error| error.to_string())?;
        if let Some(mismatch) = mismatch {
            return Err(format!("{}: by hand and exact form: {mismatch}", vector.id));
        }
        self.file.vectors.push(vector);
        Ok(())
    }

    /// A vector whose answer is the oracle's exact form.
    pub(crate) fn exact(
        &mut self,
        number: u32,
        comment: &str,
        flags: &[&str],
        inputs: Value,
    ) -> Made {
        let mut vector = self.vector(number, comment, flags, inputs, Source::OracleExact, None)?;
        vector.expected = self.split(&self.exact_line(&vector)?)?;
        self.file.vectors.push(vector);
        Ok(())
    }

    /// A vector whose answer is the oracle in f64, rounded, with a tolerance per field.
    pub(crate) fn f64(
        &mut self,
        number: u32,
        comment: &str,
        inputs: Value,
        expected: Value,
        within: &[(&str, i64)],
    ) -> Made {
        let source = Source::OracleF64;
        let mut vector = self.vector(number, comment, &[], inputs, source, Some(expected))?;
        vector.tolerance = Tolerance::Codes {
            within: within
                .iter()
                .map(|(field, n)| ((*field).to_owned(), *n))
                .collect(),
        };
        let exact = self.exact_line(&vector)?;
        let mismatch = compare(&self.file, &vector, &exact).map_err(|error| error.to_string())?;
        if let Some(mismatch) = mismatch {
            return Err(format!("{}: in f64 and exact form: {mismatch}", vector.id));
        }
        self.file.vectors.push(vector);
        Ok(())
    }

    fn vector(
        &self,
        number: u32,
        comment: &str,
        flags: &[&str],
        inputs: Value,
        source: Source,
        expected: Option<Value>,
    ) -> Result<Vector, String> {
        let map = |value: Value| match value {
            Value::Object(map) => Ok(map.into_iter().collect::<BTreeMap<_, _>>()),
            other => Err(format!("{other} is no object")),
        };
        Ok(Vector {
            id: format!("{}-{number:03}", self.file.stage),
            comment: comment.to_owned(),
            flags: flags.iter().map(|flag| (*flag).to_owned()).collect(),
            source,
            tolerance: Tolerance::Exact,
            inputs: map(inputs)?,
            expected: map(expected.unwrap_or_else(|| json!({})))?,
        })
    }

    fn exact_line(&self, vector: &Vector) -> Result<String, String> {
        let line = self
            .file
            .request_line(vector)
            .map_err(|error| error.to_string())?;
        exact::answer(&line).map_err(|error| format!("{}: {error}", vector.id))
    }

    fn split(&self, line: &str) -> Result<BTreeMap<String, Value>, String> {
        let mut numbers = line
            .split(' ')
            .map(|n| n.parse::<i64>().map_err(|e| e.to_string()));
        let mut next = || {
            numbers
                .next()
                .unwrap_or_else(|| Err("too short".to_owned()))
        };
        let mut expected = BTreeMap::new();
        for (field, is_list) in self.file.answer.iter().zip(&self.lists) {
            let value = if *is_list {
                let n = next()?;
                (0..n)
                    .map(|_| next())
                    .collect::<Result<Vec<i64>, String>>()?
                    .into()
            } else {
                next()?.into()
            };
            expected.insert(field.clone(), value);
        }
        Ok(expected)
    }

    /// The file's text; each field on a line of its own.
    pub(crate) fn text(&self) -> String {
        let file = &self.file;
        let head = [
            ("format", json!(file.format)),
            ("version", json!(file.version)),
            ("stage", json!(file.stage)),
            ("about", json!(file.about)),
            ("word", json!(file.word)),
            ("request", json!(file.request)),
            ("answer", json!(file.answer)),
        ];
        let mut text = "{\n".to_owned();
        for (key, value) in head {
            text.push_str(&format!("  \"{key}\": {value},\n"));
        }
        let notes = file
            .notes
            .iter()
            .map(|(flag, note)| format!("    {}: {}", json!(flag), json!(note)));
        let notes: Vec<String> = notes.collect();
        text.push_str(&format!("  \"notes\": {{\n{}\n  }},\n", notes.join(",\n")));
        let vectors: Vec<String> = file
            .vectors
            .iter()
            .map(|vector| self.vector_text(vector))
            .collect();
        text.push_str(&format!(
            "  \"vectors\": [\n{}\n  ]\n}}\n",
            vectors.join(",\n")
        ));
        text
    }

    fn vector_text(&self, vector: &Vector) -> String {
        let source = match vector.source {
            Source::Hand => "hand",
            Source::OracleExact => "oracle-exact",
            Source::OracleF64 => "oracle-f64",
        };
        let tolerance = match &vector.tolerance {
            Tolerance::Exact => json!({ "kind": "exact" }).to_string(),
            Tolerance::Codes { within } => {
                let within: Map<String, Value> = within
                    .iter()
                    .map(|(field, n)| (field.clone(), json!(n)))
                    .collect();
                format!("{{\"kind\":\"codes\",\"within\":{}}}", json!(within))
            }
        };
        let fields = |names: &[String], values: &BTreeMap<String, Value>| {
            let lines: Vec<String> = names
                .iter()
                .filter_map(|name| Some(format!("        {}: {}", json!(name), values.get(name)?)))
                .collect();
            format!("{{\n{}\n      }}", lines.join(",\n"))
        };
        format!(
            "    {{\n      \"id\": {},\n      \"comment\": {},\n      \"flags\": {},\n      \"source\": \"{source}\",\n      \
             \"tolerance\": {tolerance},\n      \"inputs\": {},\n      \"expected\": {}\n    }}",
            json!(vector.id),
            json!(vector.comment),
            json!(vector.flags),
            fields(&self.file.request, &vector.inputs),
            fields(&self.file.answer, &vector.expected)
        )
    }
}
