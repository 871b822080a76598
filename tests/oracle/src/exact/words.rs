//! The protocol of `docs/vectors.md`: one request line, one answer line.

use super::packed::{self, Lists, crc32};
use super::pipeline::{Drawn, Machine, Session};
use super::plan::{Calibration, ColourPlan, Gain, Numbers, Overlay, Scale};
use super::scale::{ScaleState, bins, extreme};
use super::sense::{Sample, Switch, Table, both, correct, single, temperature};
use super::{draw, length, place};

/// The numbers of a request.
struct Request<'a>(std::str::SplitAsciiWhitespace<'a>);

impl Request<'_> {
    fn number(&mut self) -> Result<i64, String> {
        let text = self.0.next().ok_or("the request is too short")?;
        text.parse()
            .map_err(|_| format!("'{text}' is no whole number"))
    }

    fn list(&mut self) -> Result<Vec<i64>, String> {
        let n = self.number()?;
        (0..n).map(|_| self.number()).collect()
    }

    fn end(mut self) -> Result<(), String> {
        match self.0.next() {
            None => Ok(()),
            Some(text) => Err(format!("the request goes on with '{text}'")),
        }
    }
}

/// An answer being written.
#[derive(Default)]
struct Answer(Vec<String>);

impl Answer {
    fn number(mut self, n: i64) -> Self {
        self.0.push(n.to_string());
        self
    }

    fn list(mut self, list: &[i64]) -> Self {
        self.0.push(list.len().to_string());
        self.0.extend(list.iter().map(ToString::to_string));
        self
    }
}

/// Answers one request line.
///
/// # Errors
/// A sentence that says what is wrong with the request.
pub fn answer(line: &str) -> Result<String, String> {
    let mut words = line.split_ascii_whitespace();
    let word = words.next().ok_or("the request is empty")?;
    let answer = match word {
        "correct" => correction(Request(words)),
        "temperature" => look_up(Request(words)),
        "merge" => merge(Request(words)),
        "switch" => switch(Request(words)),
        "statistics" => statistics(Request(words)),
        "bins" => bin_numbers(Request(words)),
        "scale" => scale(Request(words)),
        "bands" => bands(Request(words)),
        "overlay" => overlay(Request(words)),
        "pseudo" => pseudo(Request(words)),
        "panel" => panel(Request(words)),
        "pack" => pack(Request(words)),
        "unpack" => unpack(Request(words)),
        "pipeline" => pipeline(Request(words), false),
        "digest" => pipeline(Request(words), true),
        _ => return Ok("unsupported".to_owned()),
    }?;
    Ok(answer.0.join(" "))
}

fn correction(mut from: Request<'_>) -> Result<Answer, String> {
    let (width, saturation) = (from.number()?, from.number()?);
    let (gain, offset, defects, raw) = (from.list()?, from.list()?, from.list()?, from.list()?);
    from.end()?;
    let table = Table {
        gain: &gain,
        offset: &offset,
    };
    let (samples, replaced) = correct(&raw, place(width), saturation, table, &defects);
    let samples: Vec<i64> = samples.into_iter().map(Sample::write).collect();
    let replaced = length(replaced.into_iter().filter(|r| *r).count());
    Ok(Answer::default().list(&samples).number(replaced))
}

fn look_up(mut from: Request<'_>) -> Result<Answer, String> {
    let (shift, knots, counts) = (from.number()?, from.list()?, from.list()?);
    from.end()?;
    let list: Vec<i64> = [shift, 65_535].into_iter().chain(knots).collect();
    let table = Calibration::read(&list)?.ok_or("a calibration is needed")?;
    let codes: Vec<i64> = counts.iter().map(|c| temperature(&table, *c)).collect();
    Ok(Answer::default().list(&codes))
}

fn merge(mut from: Request<'_>) -> Result<Answer, String> {
    let gain = Gain::read(&from.list()?)?;
    let tables = [
        Calibration::read(&from.list()?)?,
        Calibration::read(&from.list()?)?,
    ];
    let (high, low) = (from.list()?, from.list()?);
    from.end()?;
    let mut codes = Vec::new();
    let mut counts = [0; 3];
    for i in 0..high.len().max(low.len()) {
        let sample = |plane: &[i64]| Sample::read(plane.get(i).copied().unwrap_or(0));
        let pixel = match (gain, &tables) {
            (Gain::PerPixel { from, to, dispute }, [Some(h), Some(l)]) => {
                both((from, to, dispute), (h, sample(&high)), (l, sample(&low)))
            }
            (Gain::HighOnly, [Some(h), _]) => single(h, sample(&high), false),
            (Gain::LowOnly, [_, Some(l)]) => single(l, sample(&low), true),
            _ => return Err("the gain plan has no calibration".to_owned()),
        };
        codes.push(pixel.code);
        for (sum, is) in counts
            .iter_mut()
            .zip([pixel.from_low, pixel.saturated, pixel.disputed])
        {
            *sum += i64::from(is);
        }
    }
    let [from_low, saturated, disputed] = counts;
    Ok(Answer::default()
        .list(&codes)
        .number(from_low)
        .number(saturated)
        .number(disputed))
}

/// Frames of so many pixels each.
fn frames(pixels: i64, codes: &[i64]) -> Result<std::slice::ChunksExact<'_, i64>, String> {
    let frames = codes.chunks_exact(place(pixels).max(1));
    if frames.remainder().is_empty() {
        Ok(frames)
    } else {
        Err("the codes are no whole number of frames".to_owned())
    }
}

fn switch(mut from: Request<'_>) -> Result<Answer, String> {
    let (gain, pixels, codes) = (Gain::read(&from.list()?)?, from.number()?, from.list()?);
    from.end()?;
    let mut memory = Switch::new();
    let mut states = Vec::new();
    for frame in frames(pixels, &codes)? {
        states.push(memory.in_use(&gain).write());
        memory.after(&gain, frame);
    }
    Ok(Answer::default().list(&states))
}

fn statistics(mut from: Request<'_>) -> Result<Answer, String> {
    let (width, codes) = (place(from.number()?), from.list()?);
    from.end()?;
    let spot = |hottest| extreme(&codes, width, hottest).map_or(Vec::new(), |spot| spot.to_vec());
    let valid = length(codes.iter().filter(|t| **t != 0).count());
    Ok(Answer::default()
        .number(valid)
        .list(&spot(true))
        .list(&spot(false)))
}

fn bin_numbers(mut from: Request<'_>) -> Result<Answer, String> {
    let codes = from.list()?;
    from.end()?;
    let (bins, edges) = bins(&codes);
    Ok(Answer::default().list(&bins).list(&edges))
}

fn scale(mut from: Request<'_>) -> Result<Answer, String> {
    let (plan, pixels, codes) = (Scale::read(&from.list()?)?, from.number()?, from.list()?);
    from.end()?;
    let mut state = ScaleState::new(plan);
    let (mut lows, mut highs, mut greys) = (Vec::new(), Vec::new(), Vec::new());
    for frame in frames(pixels, &codes)? {
        let [low, high] = state.ends();
        lows.push(low);
        highs.push(high);
        greys.extend(
            frame
                .iter()
                .map(|t| if *t == 0 { 0 } else { state.grey(*t) }),
        );
        state.after(frame);
    }
    Ok(Answer::default().list(&lows).list(&highs).list(&greys))
}

fn bands(mut from: Request<'_>) -> Result<Answer, String> {
    let (plan, pixels, codes) = (
        ColourPlan::read(&from.list()?)?,
        from.number()?,
        from.list()?,
    );
    from.end()?;
    let ColourPlan::Bands(plan) = plan else {
        return Err("a colour plan of bands is needed".to_owned());
    };
    let mut memory = vec![0; place(pixels)];
    let (mut bands, mut colours) = (Vec::new(), Vec::new());
    for frame in frames(pixels, &codes)? {
        for (band, &code) in memory.iter_mut().zip(frame) {
            *band = if code == 0 {
                0
            } else {
                draw::band(&plan, *band, code)
            };
            bands.push(*band);
            colours.extend(match *band {
                0 => [0; 3],
                band => draw::band_colour(&plan, band, code),
            });
        }
    }
    Ok(Answer::default().list(&bands).list(&colours))
}

fn overlay(mut from: Request<'_>) -> Result<Answer, String> {
    let (plan, colour, greys) = (Overlay::read(&from.list()?)?, from.list()?, from.list()?);
    from.end()?;
    let colour: [i64; 3] = Numbers(&colour).take()?;
    let drawn: Vec<i64> = greys
        .iter()
        .flat_map(|g| draw::overlay(plan, colour, *g))
        .collect();
    Ok(Answer::default().list(&drawn))
}

fn pseudo(mut from: Request<'_>) -> Result<Answer, String> {
    let (stops, greys) = (from.list()?, from.list()?);
    from.end()?;
    let stops: Vec<[i64; 3]> = stops.chunks_exact(3).map(|s| [s[0], s[1], s[2]]).collect();
    let drawn: Vec<i64> = greys
        .iter()
        .flat_map(|g| draw::pseudo(&stops, *g))
        .collect();
    Ok(Answer::default().list(&drawn))
}

fn panel(mut from: Request<'_>) -> Result<Answer, String> {
    let (format, x, y, colours) = (from.number()?, from.list()?, from.list()?, from.list()?);
    from.end()?;
    let words: Vec<i64> = x
        .iter()
        .zip(&y)
        .zip(colours.chunks_exact(3))
        .map(|((x, y), c)| draw::word(format, [c[0], c[1], c[2]], *x, *y))
        .collect();
    Ok(Answer::default().list(&words))
}

fn pack(mut from: Request<'_>) -> Result<Answer, String> {
    let lists = Lists {
        name: from.list()?,
        gain: from.list()?,
        scale: from.list()?,
        colour: from.list()?,
        overlay: from.list()?,
    };
    from.end()?;
    Ok(Answer::default().list(&packed::pack(&lists)?))
}

fn unpack(mut from: Request<'_>) -> Result<Answer, String> {
    let bytes = from.list()?;
    from.end()?;
    let (status, lists) = match packed::unpack(&bytes) {
        Ok(lists) => (0, lists),
        Err(refusal) => (refusal.write(), Lists::default()),
    };
    let answer = Answer::default()
        .number(status)
        .list(&lists.name)
        .list(&lists.gain);
    Ok(answer
        .list(&lists.scale)
        .list(&lists.colour)
        .list(&lists.overlay))
}

fn low_bytes_first(list: &[i64], bytes: u32) -> impl Iterator<Item = i64> {
    list.iter()
        .flat_map(move |n| (0..bytes).map(move |i| (n >> (8 * i)) % 256))
}

fn pipeline(mut from: Request<'_>, digest: bool) -> Result<Answer, String> {
    let (width, height) = (place(from.number()?), place(from.number()?));
    let session = Session {
        width,
        height,
        gain: Gain::read(&from.list()?)?,
        high: Calibration::read(&from.list()?)?,
        low: Calibration::read(&from.list()?)?,
        tables: [from.list()?, from.list()?, from.list()?, from.list()?],
        defects: from.list()?,
        scale: Scale::read(&from.list()?)?,
        colour: ColourPlan::read(&from.list()?)?,
        overlay: Overlay::read(&from.list()?)?,
        panel: from.number()?,
    };
    let counts = from.list()?;
    from.end()?;
    let plane = width * height;
    let (high, low) = (session.high.is_some(), session.low.is_some());
    let mut machine = Machine::new(session);
    let planes = plane * (usize::from(high) + usize::from(low));
    let mut all = Drawn::default();
    let mut digests = Vec::new();
    for counts in frames(length(planes), &counts)? {
        let (of_high, of_low) = counts.split_at(if high { plane } else { 0 });
        let drawn = machine.frame(of_high, of_low);
        all.record.extend(drawn.record);
        if digest {
            digests.extend([
                crc32(low_bytes_first(&drawn.codes, 2)),
                crc32(low_bytes_first(&drawn.greys, 2)),
                crc32(low_bytes_first(&drawn.bands, 1)),
                crc32(low_bytes_first(&drawn.words, 4)),
            ]);
            continue;
        }
        all.codes.extend(drawn.codes);
        all.greys.extend(drawn.greys);
        all.bands.extend(drawn.bands);
        all.words.extend(drawn.words);
    }
    let answer = Answer::default().list(&all.record);
    if digest {
        return Ok(answer.list(&digests));
    }
    Ok(answer
        .list(&all.codes)
        .list(&all.greys)
        .list(&all.bands)
        .list(&all.words))
}
