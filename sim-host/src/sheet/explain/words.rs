//! What happened, in sentences made from the numbers of an explanation.

use glowsill_core::record::GainInUse;

use super::{AfterStart, Course, Explanation, Noise, NotMeasured, Side};
use crate::sheet::instant::say_seconds;
use crate::sheet::scale::{GreyLaw, equalised_share};
use crate::sheet::view::{MarkState, Place, difference, percent};
use crate::temperature::Kelvin;

pub(super) fn sentences(explanation: &Explanation) -> Vec<String> {
    let [first, second] = &explanation.instants;
    let mut all = Vec::new();
    all.extend(hottest(first, second));
    all.extend(above_onset(first, second));
    all.push(scale(first, second));
    all.extend(equalised(explanation));
    all.push(background(explanation));
    all.extend(explanation.after_start.map(|after| start(first, after)));
    let marks = &explanation.marks;
    all.extend(
        marks
            .iter()
            .map(|course| mark(course, explanation.visible_jnd)),
    );
    all.extend(whole_frame(explanation));
    all
}

/// `rose by 12 K (22 °F)`, or `fell`, or `stayed`.
fn moved(from: Kelvin, to: Kelvin) -> String {
    let by = to.0 - from.0;
    if by.abs() < 0.5 {
        format!("stayed at {to}")
    } else {
        let verb = if by > 0.0 { "rose" } else { "fell" };
        format!("{verb} by {} from {from} to {to}", difference(by.abs()))
    }
}

fn hottest(first: &Side, second: &Side) -> Option<String> {
    let (before, after) = (first.view.hottest?, second.view.hottest?);
    let (from, to) = (
        say_seconds(first.at.seconds),
        say_seconds(second.at.seconds),
    );
    let place = format!("at the end it is in the {} of the picture", after.words);
    Some(if before.at_least || after.at_least {
        let top = "\u{201c}at least\u{201d}: the sensor is at its top there and cannot tell more";
        format!("The hottest spot read {before} at {from} and {after} at {to} ({top}); {place}.")
    } else {
        let Place { temperature, .. } = before;
        format!(
            "Between {from} and {to} the hottest spot {}; {place}.",
            moved(temperature, after.temperature)
        )
    })
}

fn above_onset(first: &Side, second: &Side) -> Option<String> {
    let (before, after) = (first.share_above_onset?, second.share_above_onset?);
    let onset = second.view.onset?;
    Some(format!(
        "At or above the onset of {onset} stood {} of the picture, then {}.",
        percent(before),
        percent(after)
    ))
}

fn scale(first: &Side, second: &Side) -> String {
    let (upper, lower) = (
        moved(first.view.scale_high, second.view.scale_high),
        moved(first.view.scale_low, second.view.scale_low),
    );
    if second.view.grey_law == GreyLaw::Equalised {
        return format!("The upper end of the scale {upper}; the lower end {lower}.");
    }
    format!(
        "White {upper}; black {lower}. The same greys have to cover {} instead of {}.",
        difference(second.view.scale_high.0 - second.view.scale_low.0),
        difference(first.view.scale_high.0 - first.view.scale_low.0),
    )
}

/// What the ends of an equalised scale mean, and how much grey the background really gets.
fn equalised(explanation: &Explanation) -> Option<String> {
    let weight = equalised_share(explanation.law)?;
    let [_, second] = &explanation.instants;
    Some(format!(
        "This scale is {}. The ends alone therefore do not say what the background gets: at {} it really gets {} \
         of the grey range; a straight line between the same ends alone would leave it {}{}.",
        explanation.scale_law,
        say_seconds(second.at.seconds),
        percent(second.background_grey_share.max(0.0)),
        percent(second.straight_grey_share.max(0.0)),
        if weight < 1.0 {
            ""
        } else {
            ", and has no part here"
        },
    ))
}

/// Why a first instant that is the first frame is no measure of the display.
fn start(first: &Side, after: AfterStart) -> String {
    format!(
        "The first frame is special: the scale follows the frame before, there is none, and so the start values of the \
         profile stand, a straight line from {} to {} that knows nothing of this scene. Its share is no measure of how \
         the display shows it. In the next frame shown (frame {}, {}) the same background gets {} of the grey range.",
        first.view.scale_low,
        first.view.scale_high,
        after.at.frame,
        say_seconds(after.at.seconds),
        percent(after.background_grey_share.max(0.0))
    )
}

fn background(explanation: &Explanation) -> String {
    let [first, second] = &explanation.instants;
    format!(
        "What was background at {} (5th to 95th percentile, {} to {}) had {} of the grey range; the same \
         temperatures get {} at {}.",
        say_seconds(first.at.seconds),
        explanation.background.low,
        explanation.background.high,
        percent(first.background_grey_share.max(0.0)),
        percent(second.background_grey_share.max(0.0)),
        say_seconds(second.at.seconds)
    )
}

fn mark(course: &Course, limit: f64) -> String {
    let name = &course.name;
    // Near the limit one place could round a lost mark up to it.
    let jnd = |value: Option<f64>| {
        value.map_or("out of view".to_owned(), |v| {
            let places = if (v - limit).abs() < 0.05 { 2 } else { 1 };
            format!("{v:.places$} JND")
        })
    };
    let [before, after] = course.separation_jnd.map(jnd);
    match (course.state, course.lost_from) {
        ([_, MarkState::OutOfView], _) => {
            format!("The {name} is out of view at the second instant ({before} before).")
        }
        (_, Some(when)) => format!(
            "The {name} is lost: from {} (frame {}) on it stays below {limit} JND ({before} before, {after} at the end).",
            say_seconds(when.seconds),
            when.frame
        ),
        ([_, MarkState::Lost], None) => format!(
            "The {name} was lost already at the first instant ({before}; limit {limit} JND) and is so at the end ({after})."
        ),
        ([before_state, MarkState::Visible], _) => {
            let came = match before_state {
                MarkState::Visible => "stays visible",
                MarkState::Lost => "was lost and has become visible",
                MarkState::OutOfView => "has come into view and is visible",
            };
            format!("The {name} {came} at the end: {after} (limit {limit} JND, {before} before).")
        }
    }
}

fn noise_words(noise: Option<Noise>, missing: Option<NotMeasured>) -> String {
    match (noise, missing) {
        (Some(noise), _) => format!(
            "{:.3} K, which the grey scale turns into {:.2} steps of 255 and {:.2} JND",
            noise.kelvin, noise.grey, noise.jnd
        ),
        (None, Some(why)) => format!("not measured, because {}", why.because()),
        (None, None) => "not measured".to_owned(),
    }
}

/// How many times as large one noise is as another, in kelvin and to the eye.
fn times(own: Noise, other: Noise) -> String {
    let mut text = String::new();
    if own.kelvin > 0.0 {
        text += &format!(
            " That is {:.1} times as much in kelvin",
            other.kelvin / own.kelvin
        );
        if own.jnd > 0.0 {
            text += &format!(
                ", and {:.1} times as much in what a person sees on the panel",
                other.jnd / own.jnd
            );
        }
        text += ".";
    }
    text
}

fn whole_frame(explanation: &Explanation) -> Vec<String> {
    let whole = &explanation.whole_frame;
    let plan = &whole.plan;
    let [first, second] = &explanation.instants;
    let whose = if whole.put_in {
        "With a whole-frame gain plan in its place"
    } else {
        "The profile's own whole-frame gain plan"
    };
    let rule = format!(
        "{whose} (low gain once {} of the picture is above {} for {} frames, {} blank frames at a switch)",
        format_args!("{} %", f64::from(plan.enter_permille) / 10.0),
        Kelvin::from(plan.enter_above),
        plan.enter_frames,
        plan.blank_frames
    );
    let mut all = vec![match whole.switched {
        None => format!("{rule}: the frame does not switch to low gain up to the second instant."),
        Some(when) => format!(
            "{rule}: the whole frame is in low gain from {} (frame {}) on, and {} frames ({}) are blank up to the \
             second instant.",
            say_seconds(when.seconds),
            when.frame,
            whole.blank_frames,
            say_seconds(whole.blank_seconds)
        ),
    }];
    let own = if whole.put_in {
        "its own gain plan"
    } else {
        "it"
    };
    let state = match second.whole_frame_view.gain {
        GainInUse::Low => "low gain",
        GainInUse::Blank => "a blank frame",
        _ => "high gain",
    };
    let mut noise = format!(
        "Noise of still background pixels from frame to frame (standard deviation) with {own}, at the first instant: {}; \
         at the second: {}.",
        noise_words(first.noise, first.noise_missing),
        noise_words(second.noise, second.noise_missing)
    );
    if whole.put_in {
        noise += &format!(
            " With the whole frame, then in {state}, at the second: {}.",
            noise_words(second.whole_frame_noise, second.whole_frame_noise_missing)
        );
        if let (Some(own), Some(other)) = (second.noise, second.whole_frame_noise) {
            noise += &times(own, other);
        }
    } else {
        noise += &format!(" The frame is then in {state}.");
    }
    all.push(noise);
    all.push(
        "A JND is a step of luminance that is just noticeable between steady patches; for pixels that flicker it is a \
         guide. Kelvin say what the sensor does, JND what reaches the eye: a steep stretch of the grey curve shows \
         the same noise more."
            .to_owned(),
    );
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn noise(kelvin: f64, jnd: f64) -> Noise {
        Noise {
            kelvin,
            grey: 1.0,
            jnd,
            pixels: 100,
        }
    }

    // By hand: 0.3 / 0.05 = 6; 1.2 / 0.4 = 3.
    #[test]
    fn noise_is_compared_in_kelvin_and_to_the_eye() {
        let words = times(noise(0.05, 0.4), noise(0.3, 1.2));
        assert!(words.contains("6.0 times as much in kelvin"), "{words}");
        assert!(
            words.contains("3.0 times as much in what a person sees"),
            "{words}"
        );
        assert_eq!(times(noise(0.0, 0.0), noise(0.3, 1.2)), "");
    }

    #[test]
    fn a_mark_stays_comes_or_goes_and_is_never_rounded_over_the_limit() {
        use MarkState::{Lost, OutOfView, Visible};
        let course = |separation_jnd, state| Course {
            name: "ladder".to_owned(),
            separation_jnd,
            state,
            lost_from: None,
            points: Vec::new(),
        };
        for (jnd, state, words) in [
            (
                [Some(9.0), Some(8.0)],
                [Visible, Visible],
                "stays visible at the end: 8.0 JND",
            ),
            (
                [Some(2.2), Some(8.0)],
                [Lost, Visible],
                "was lost and has become visible",
            ),
            (
                [None, Some(8.0)],
                [OutOfView, Visible],
                "come into view and is visible at the end: 8.0 JND",
            ),
            (
                [Some(2.5), Some(2.97)],
                [Lost, Lost],
                "is so at the end (2.97 JND)",
            ),
            (
                [Some(9.0), None],
                [Visible, OutOfView],
                "is out of view at the second instant (9.0 JND before)",
            ),
        ] {
            let sentence = mark(&course(jnd, state), 3.0);
            assert!(sentence.contains(words), "{words} in {sentence}");
        }
    }

    #[test]
    fn what_is_not_measured_has_its_reason() {
        for (why, part) in [
            (NotMeasured::OneFrame, "none before it"),
            (NotMeasured::Blank, "blank just before"),
            (NotMeasured::FewStill, "fewer than 50 pixels"),
        ] {
            let words = noise_words(None, Some(why));
            assert!(
                words.contains("not measured, because") && words.contains(part),
                "{words}"
            );
        }
        let words = noise_words(Some(noise(0.05, 0.4)), None);
        assert!(
            words.starts_with("0.050 K") && words.ends_with("0.40 JND"),
            "{words}"
        );
    }
}
