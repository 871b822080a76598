//! What happened, in sentences made from the numbers of an explanation.

use glowsill_core::record::GainInUse;

use super::{Course, Explanation, Noise, Side};
use crate::sheet::instant::say_seconds;
use crate::sheet::view::{MarkState, difference, percent};
use crate::temperature::Kelvin;

pub(super) fn sentences(explanation: &Explanation) -> Vec<String> {
    let [first, second] = &explanation.instants;
    let mut all = Vec::new();
    all.extend(hottest(first, second));
    all.extend(above_onset(first, second));
    all.push(scale(first, second));
    if explanation.equalised {
        all.push(
            "Grey is shared out by how often temperatures occur, so that these ends say less than the curve: \
             most of the grey stays with what fills most of the picture."
                .to_owned(),
        );
    }
    all.push(background(explanation));
    let marks = &explanation.marks;
    all.extend(marks.iter().map(|course| mark(course, explanation)));
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
    Some(format!(
        "Between {} and {} the hottest spot {}; at the end it is in the {} of the picture.",
        say_seconds(first.at.seconds),
        say_seconds(second.at.seconds),
        moved(before.temperature, after.temperature),
        after.words
    ))
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
    format!(
        "White {}; black {}. The same greys have to cover {} instead of {}.",
        moved(first.view.scale_high, second.view.scale_high),
        moved(first.view.scale_low, second.view.scale_low),
        difference(second.view.scale_high.0 - second.view.scale_low.0),
        difference(first.view.scale_high.0 - first.view.scale_low.0),
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

fn mark(course: &Course, explanation: &Explanation) -> String {
    let name = &course.name;
    let limit = explanation.visible_jnd;
    let jnd =
        |value: Option<f64>| value.map_or("not measured".to_owned(), |v| format!("{v:.1} JND"));
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
        ([_, MarkState::Visible], _) => {
            format!(
                "The {name} stays visible at the end: {after} (limit {limit} JND, {before} before)."
            )
        }
    }
}

fn noise_words(noise: Option<Noise>) -> String {
    noise.map_or("not measured".to_owned(), |noise| {
        format!(
            "{:.3} K and {:.2} grey steps of 255",
            noise.kelvin, noise.grey
        )
    })
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
        percent(f64::from(plan.enter_permille) / 1000.0),
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
        "Noise of still background pixels (temporal standard deviation) with {own}: {} at the first instant, {} at \
         the second",
        noise_words(first.noise),
        noise_words(second.noise)
    );
    if whole.put_in {
        noise += &format!(
            "; with the whole frame, then in {state}, {} at the second.",
            noise_words(second.whole_frame_noise)
        );
        if let (Some(own), Some(other)) = (second.noise, second.whole_frame_noise)
            && own.kelvin > 0.0
        {
            noise += &format!(" That is {:.1} times as much.", other.kelvin / own.kelvin);
        }
    } else {
        noise += &format!(" ({state}).");
    }
    all.push(noise);
    all
}
