//! Section 10: the packed profile.

use super::length;
use super::plan::{Band, Bands, ColourPlan, Numbers};

const MARK: [i64; 4] = [0x67, 0x73, 0x69, 0x6C];
const VERSION: i64 = 1;

/// A profile as the lists that vectors write: name, gain, scale, colour, overlay.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Lists {
    pub(crate) name: Vec<i64>,
    pub(crate) gain: Vec<i64>,
    pub(crate) scale: Vec<i64>,
    pub(crate) colour: Vec<i64>,
    pub(crate) overlay: Vec<i64>,
}

/// Why bytes are no profile, as vectors number it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Refusal {
    Truncated,
    NotAProfile,
    Version,
    Damaged,
    Body,
}

impl Refusal {
    pub(crate) fn write(self) -> i64 {
        match self {
            Self::Truncated => 1,
            Self::NotAProfile => 2,
            Self::Version => 3,
            Self::Damaged => 4,
            Self::Body => 5,
        }
    }
}

/// CRC-32 bit by bit, as long division over reflected bytes.
pub(crate) fn crc32(bytes: impl IntoIterator<Item = i64>) -> i64 {
    let mut crc: i64 = 0xFFFF_FFFF;
    for byte in bytes {
        crc ^= byte;
        for _ in 0..8 {
            let carry = crc % 2 == 1;
            crc /= 2;
            if carry {
                crc ^= 0xEDB8_8320;
            }
        }
    }
    crc ^ 0xFFFF_FFFF
}

fn varint(out: &mut Vec<i64>, mut n: i64) {
    while n >= 128 {
        out.push(n % 128 + 128);
        n /= 128;
    }
    out.push(n);
}

fn write_colour(out: &mut Vec<i64>, plan: &ColourPlan) {
    match plan {
        ColourPlan::Grey => varint(out, 0),
        ColourPlan::Bands(plan) => {
            varint(out, 1);
            varint(out, length(plan.bands.len()));
            for band in &plan.bands {
                varint(out, band.start);
                out.extend(band.colour);
                varint(out, i64::from(band.ramp));
            }
            varint(out, plan.hysteresis);
            for end in [plan.ramp_end, plan.ceiling] {
                out.push(i64::from(end.is_some()));
                if let Some((start, colour)) = end {
                    varint(out, start);
                    out.extend(colour);
                }
            }
        }
        ColourPlan::Pseudo(stops) => {
            varint(out, 2);
            varint(out, length(stops.len()));
            out.extend(stops.iter().flatten());
        }
    }
}

/// Whether a number of a gain plan or a scale (after the choice) is one byte; others are varints.
fn gain_is_byte(choice: i64, index: usize) -> bool {
    choice == 1 && [2, 5, 6].contains(&index)
}

fn scale_is_byte(index: usize) -> bool {
    [2, 3, 5].contains(&index)
}

fn law_fields(law: i64) -> usize {
    match law {
        2 => 2,
        3 => 4,
        _ => 0,
    }
}

/// Packs a profile.
pub(crate) fn pack(lists: &Lists) -> Result<Vec<i64>, String> {
    let mut body = Vec::new();
    varint(&mut body, length(lists.name.len()));
    body.extend(&lists.name);
    let mut gain = Numbers(&lists.gain);
    let choice = gain.next()?;
    varint(&mut body, choice);
    for (index, n) in gain.0.iter().enumerate() {
        if gain_is_byte(choice, index) {
            body.push(*n);
        } else {
            varint(&mut body, *n);
        }
    }
    let mut scale = Numbers(&lists.scale);
    let law = scale.next()?;
    varint(&mut body, law);
    let shares: [i64; 4] = scale.take()?;
    for share in shares.iter().take(law_fields(law)) {
        varint(&mut body, *share);
    }
    for (index, n) in scale.0.iter().enumerate() {
        if scale_is_byte(index) {
            body.push(*n);
        } else {
            varint(&mut body, *n);
        }
    }
    write_colour(&mut body, &ColourPlan::read(&lists.colour)?);
    let mut overlay = Numbers(&lists.overlay);
    varint(&mut body, overlay.next()?);
    body.extend(overlay.0);
    let mut bytes = MARK.to_vec();
    bytes.extend([VERSION, length(body.len()) % 256, length(body.len()) / 256]);
    bytes.extend(body);
    let crc = crc32(bytes.iter().copied());
    bytes.extend([0, 8, 16, 24].map(|shift| (crc >> shift) % 256));
    Ok(bytes)
}

/// Reads a body.
struct Body<'a>(Numbers<'a>);

impl Body<'_> {
    fn byte(&mut self) -> Result<i64, Refusal> {
        self.0.next().map_err(|_| Refusal::Body)
    }

    fn bytes(&mut self, n: i64) -> Result<Vec<i64>, Refusal> {
        (0..n).map(|_| self.byte()).collect()
    }

    fn varint(&mut self) -> Result<i64, Refusal> {
        let mut n = 0;
        for group in 0..3 {
            let byte = self.byte()?;
            n += (byte % 128) << (7 * group);
            if byte < 128 {
                return if n > 65_535 {
                    Err(Refusal::Body)
                } else {
                    Ok(n)
                };
            }
        }
        Err(Refusal::Body)
    }

    fn varints(&mut self, n: usize, is_byte: impl Fn(usize) -> bool) -> Result<Vec<i64>, Refusal> {
        (0..n)
            .map(|index| {
                if is_byte(index) {
                    self.byte()
                } else {
                    self.varint()
                }
            })
            .collect()
    }

    fn choice(&mut self, most: i64) -> Result<i64, Refusal> {
        let choice = self.varint()?;
        if choice > most {
            Err(Refusal::Body)
        } else {
            Ok(choice)
        }
    }

    fn rgb(&mut self) -> Result<[i64; 3], Refusal> {
        Ok([self.byte()?, self.byte()?, self.byte()?])
    }

    fn end(&mut self) -> Result<Option<(i64, [i64; 3])>, Refusal> {
        match self.byte()? {
            0 => Ok(None),
            1 => Ok(Some((self.varint()?, self.rgb()?))),
            _ => Err(Refusal::Body),
        }
    }

    fn colour(&mut self) -> Result<ColourPlan, Refusal> {
        Ok(match self.choice(2)? {
            0 => ColourPlan::Grey,
            1 => {
                let mut bands = Vec::new();
                for _ in 0..self.choice(6)? {
                    bands.push(Band {
                        start: self.varint()?,
                        colour: self.rgb()?,
                        ramp: self.choice(1)? == 1,
                    });
                }
                ColourPlan::Bands(Bands {
                    bands,
                    hysteresis: self.varint()?,
                    ramp_end: self.end()?,
                    ceiling: self.end()?,
                })
            }
            _ => {
                let n = self.choice(12)?;
                ColourPlan::Pseudo((0..n).map(|_| self.rgb()).collect::<Result<_, _>>()?)
            }
        })
    }

    fn lists(&mut self) -> Result<Lists, Refusal> {
        let n = self.choice(32)?;
        let name = self.bytes(n)?;
        let choice = self.choice(3)?;
        let fields = [3, 7, 0, 0][super::place(choice)];
        let mut gain = vec![choice];
        gain.extend(self.varints(fields, |index| gain_is_byte(choice, index))?);
        let law = self.choice(3)?;
        let mut scale = vec![law];
        scale.extend(self.varints(law_fields(law), |_| false)?);
        scale.resize(5, 0);
        scale.extend(self.varints(6, scale_is_byte)?);
        let colour = self.colour()?.write();
        let choice = self.choice(2)?;
        let mut overlay = vec![choice];
        overlay.extend(self.bytes(choice)?);
        Ok(Lists {
            name,
            gain,
            scale,
            colour,
            overlay,
        })
    }
}

/// Unpacks a profile; what the fields' limits are is not asked.
pub(crate) fn unpack(bytes: &[i64]) -> Result<Lists, Refusal> {
    let (header, rest) = bytes.split_at_checked(7).ok_or(Refusal::Truncated)?;
    if header[..4] != MARK {
        return Err(Refusal::NotAProfile);
    }
    if header[4] != VERSION {
        return Err(Refusal::Version);
    }
    let len = super::place(header[5] + 256 * header[6]);
    if rest.len() < len + 4 {
        return Err(Refusal::Truncated);
    }
    let stored = (0..4).map(|i| rest[len + i] << (8 * i)).sum::<i64>();
    if stored != crc32(bytes[..7 + len].iter().copied()) {
        return Err(Refusal::Damaged);
    }
    Body(Numbers(&rest[..len])).lists()
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: check value of CRC-32/ISO-HDLC for "123456789", as in the IEEE 802.3 literature.
    #[test]
    fn the_check_sum_is_the_published_one() {
        assert_eq!(crc32(b"123456789".map(i64::from)), 0xCBF4_3926);
    }
}
