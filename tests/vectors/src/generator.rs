//! Lists of numbers, written out or made by a generator from a few numbers.

use serde_json::Value;

/// A list that cannot be made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}; docs/vectors.md lists the generators and their numbers")]
pub struct GeneratorError(String);

const MOST: i64 = 65_535;
/// Longest list: a little more than the largest picture.
const LONGEST: usize = 1 << 21;
/// No number of a generator is further from 0, so that no sum or product of two leaves 64 bits.
const FURTHEST: i64 = 1 << 32;

/// Gives the numbers of a list whose items are numbers and generators.
///
/// # Errors
/// [`GeneratorError`] names the item that is neither.
///
/// ```
/// use glowsill_vectors::expand;
/// let list = serde_json::json!([7, { "repeat": [2, 5] }, { "curve": [3, 100, 16, 8] }]);
/// // 100 + floor((16·2 + 8·4)/16) = 104
/// assert_eq!(expand(&list).unwrap(), [7, 5, 5, 100, 101, 104]);
/// ```
pub fn expand(list: &Value) -> Result<Vec<i64>, GeneratorError> {
    let items = list
        .as_array()
        .ok_or_else(|| GeneratorError(format!("{list} is no list")))?;
    let mut out = Vec::new();
    for item in items {
        match item {
            Value::Number(n) => out.push(
                n.as_i64()
                    .ok_or_else(|| GeneratorError(format!("{n} is no whole number")))?,
            ),
            Value::Object(map) => {
                let mut entries = map.iter();
                let (Some((name, numbers)), None) = (entries.next(), entries.next()) else {
                    return Err(GeneratorError(format!("{item} names not one generator")));
                };
                generate(name, &expand(numbers)?, &mut out)?;
            }
            other => return Err(GeneratorError(format!("{other} is no list item"))),
        }
        check_length(i64::try_from(out.len()).ok())?;
    }
    Ok(out)
}

fn check_length(length: Option<i64>) -> Result<(), GeneratorError> {
    match length.map(usize::try_from) {
        // A negative count is an empty list.
        Some(Ok(..=LONGEST) | Err(_)) => Ok(()),
        _ => Err(GeneratorError(format!(
            "a list has more than {LONGEST} numbers"
        ))),
    }
}

fn generate(name: &str, numbers: &[i64], out: &mut Vec<i64>) -> Result<(), GeneratorError> {
    if let Some(far) = numbers
        .iter()
        .find(|n| n.unsigned_abs() > FURTHEST.unsigned_abs())
    {
        return Err(GeneratorError(format!(
            "{far} in '{name}' is outside -{FURTHEST} to {FURTHEST}"
        )));
    }
    match (name, numbers) {
        ("repeat", &[n, value]) => {
            check_length(Some(n))?;
            out.extend((0..n).map(|_| value));
        }
        ("curve", &[n, c0, c1, c2]) => {
            check_length(Some(n))?;
            for i in 0..n {
                let [c0, c1, c2, i] = [c0, c1, c2, i].map(i128::from);
                let value = (c0 + (c1 * i + c2 * i * i).div_euclid(16)).min(i128::from(MOST));
                out.push(i64::try_from(value).map_err(|_| {
                    GeneratorError(format!("number {i} of a curve, {value}, leaves 64 bits"))
                })?);
            }
        }
        ("noise", &[n, seed, least, most]) if most >= least => {
            check_length(Some(n))?;
            let mut noise = Xorshift::new(seed)?;
            out.extend((0..n).map(|_| least + noise.next() % (most - least + 1)));
        }
        ("scene", numbers) => scene(numbers, out)?,
        _ => {
            return Err(GeneratorError(format!(
                "no generator '{name}' of {} numbers",
                numbers.len()
            )));
        }
    }
    Ok(())
}

fn scene(numbers: &[i64], out: &mut Vec<i64>) -> Result<(), GeneratorError> {
    let &[
        width,
        height,
        seed,
        base,
        dx,
        dy,
        noise,
        left,
        top,
        across,
        down,
        block,
        dead,
    ] = numbers
    else {
        return Err(GeneratorError(format!(
            "a scene has 13 numbers, not {}",
            numbers.len()
        )));
    };
    if noise < 0 {
        return Err(GeneratorError(format!(
            "noise {noise} of a scene is below 0"
        )));
    }
    if width > 0 && height > 0 {
        check_length(width.checked_mul(height))?;
    }
    let mut random = Xorshift::new(seed)?;
    for y in 0..height {
        for x in 0..width {
            let inside = (left..left + across).contains(&x) && (top..top + down).contains(&y);
            let value = if inside {
                block
            } else {
                base + dx * x + dy * y
            };
            let r = random.next();
            let is_dead = dead > 0 && (r / 65_536) % dead == 0;
            out.push(if is_dead {
                0
            } else {
                (value + r % (noise + 1)).clamp(0, MOST)
            });
        }
    }
    Ok(())
}

/// 32-bit xorshift with the shifts 13, 17, 5. Source: Marsaglia, J. Stat. Software 8(14), 2003
/// (from memory, not seen).
struct Xorshift(u32);

impl Xorshift {
    fn new(seed: i64) -> Result<Self, GeneratorError> {
        match u32::try_from(seed) {
            Ok(seed) if seed != 0 => Ok(Self(seed)),
            _ => Err(GeneratorError(format!(
                "seed {seed} is outside 1 to 4294967295"
            ))),
        }
    }

    fn next(&mut self) -> i64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 17;
        self.0 ^= self.0 << 5;
        i64::from(self.0)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "test code")]
mod tests {
    use super::*;
    use serde_json::json;

    // Source: by hand from the three shifts, seed 1: 1 ^ 1<<13 = 8193; ^ 8193>>17 = 8193;
    // ^ 8193<<5 = 8193 ^ 262176 = 270369. The second number by a calculation outside the project.
    #[test]
    fn the_noise_is_the_stated_one() {
        let list = expand(&json!([{ "noise": [2, 1, 0, 4_294_967_295u32] }])).unwrap();
        assert_eq!(list, [270_369, 67_634_689]);
    }

    #[test]
    fn a_scene_is_sloped_with_a_block() {
        let list = expand(&json!([{ "scene": [3, 2, 1, 100, 10, 1, 0, 1, 1, 1, 1, 900, 0] }]));
        assert_eq!(list.unwrap(), [100, 110, 120, 101, 900, 121]);
        // Every number is divisible by 1: all dead.
        let dead = expand(&json!([{ "scene": [2, 1, 1, 9, 0, 0, 0, 0, 0, 0, 0, 0, 1] }]));
        assert_eq!(dead.unwrap(), [0, 0]);
    }

    #[test]
    fn what_is_no_list_is_named() {
        for (list, word) in [
            (json!([{ "ramp": [1] }]), "ramp"),
            (json!([{ "noise": [1, 0, 1, 2] }]), "seed 0"),
            (json!(["x"]), "\"x\""),
            (json!([1.5]), "1.5"),
            (json!([{ "scene": [1] }]), "13"),
            (json!([{ "repeat": [9_000_000_000_000_i64, 1] }]), "outside"),
            (json!([{ "repeat": [3_000_000, 1] }]), "more than"),
            (
                json!([{ "repeat": [2_000_000, 1] }, { "repeat": [2_000_000, 1] }]),
                "more than",
            ),
            (
                json!([{ "curve": [2_000_000, 0, 0, -4_000_000_000_i64] }]),
                "64 bits",
            ),
            (
                json!([{ "scene": [4_000_000_000_i64, 4_000_000_000_i64, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0] }]),
                "more than",
            ),
        ] {
            assert!(
                expand(&list).unwrap_err().to_string().contains(word),
                "{list}"
            );
        }
    }
}
