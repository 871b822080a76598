//! Limits of the fire's model that a scenario leaves, each told once.

use std::fmt;
use std::mem::discriminant;

use crate::world::fire::Warning;

/// Rise of the layer below which a young fire's layer is hardly drawn, kelvin: the least for which the
/// correlation has data.
const DRAWN_K: f64 = 20.0;

/// Every fire is too young for the correlation at first, and while it grows passes all small rises: that
/// is told only where a layer is drawn from it, or where the fire stays so faint when it has grown.
pub(super) fn is_worth_telling(warning: &Warning, rise_k: f64, is_grown: bool) -> bool {
    match warning {
        Warning::Early { .. } => rise_k >= DRAWN_K,
        Warning::Faint { .. } => is_grown,
        _ => true,
    }
}

/// A limit of the model, and from when to when it was left.
pub(super) struct Limit {
    warning: Warning,
    from_s: f64,
    until_s: f64,
}

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (from_s, until_s) = (self.from_s, self.until_s);
        if until_s > from_s {
            write!(f, "{from_s:.0} s to {until_s:.0} s: {}", self.warning)
        } else {
            write!(f, "at {from_s:.0} s: {}", self.warning)
        }
    }
}

/// One kind of limit is told once, with its span; the numbers are those of its first step.
pub(super) fn note(limits: &mut Vec<Limit>, warning: Warning, t_s: f64) {
    let same = |one: &&mut Limit| discriminant(&one.warning) == discriminant(&warning);
    match limits.iter_mut().find(same) {
        Some(known) => known.until_s = t_s,
        None => limits.push(Limit {
            warning,
            from_s: t_s,
            until_s: t_s,
        }),
    }
}
