//! What stops a computation of heat through a wall.

/// A name that no assembly of the library has.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("there is no assembly '{name}'{meant}; write one of: {known}")]
pub struct UnknownAssembly {
    /// The name asked for.
    pub name: String,
    /// The nearest name, as a part of the sentence; may be empty.
    pub meant: String,
    /// The names there are, separated by commas.
    pub known: String,
}

/// Why heat through a wall cannot be computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ConductionError {
    /// A number is outside its range.
    #[error("{field} = {value} is outside {low} to {high}; correct it")]
    Range {
        /// Which field, with what it belongs to.
        field: String,
        /// Its value.
        value: f64,
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// An assembly that cannot stand.
    #[error(
        "assembly '{name}': {problem}; start and end with a solid, and put a solid between two air spaces"
    )]
    Plies {
        /// Name of the assembly.
        name: String,
        /// What is wrong.
        problem: &'static str,
    },
    /// The iteration of a step found no temperatures.
    #[error(
        "the temperatures of '{name}' do not settle in a step of {dt_s} s; take a shorter step or check \
         the boundaries"
    )]
    NotSettled {
        /// Name of the assembly.
        name: String,
        /// The step, in seconds.
        dt_s: f64,
    },
}

/// Refuses a value outside `low..=high`, and what is no number.
pub(crate) fn within(
    field: impl Into<String>,
    value: f64,
    low: f64,
    high: f64,
) -> Result<(), ConductionError> {
    if value >= low && value <= high {
        Ok(())
    } else {
        Err(ConductionError::Range {
            field: field.into(),
            value,
            low,
            high,
        })
    }
}
