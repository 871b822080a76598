use super::*;

#[test]
fn a_target_has_its_usual_size_and_number_of_frames() {
    let source = Source::open("step", None).unwrap();
    assert_eq!(source.size(), (320, 240));
    assert_eq!(source.frames(None).unwrap(), 30);
    assert_eq!(source.frames(Some(9999)).unwrap(), 9999);
    let error = source.frames(Some(10_000)).unwrap_err().to_string();
    assert!(error.contains("10000") && error.contains("9999"), "{error}");
    assert!(source.marks(3).unwrap().is_empty());
}

#[test]
fn an_unknown_name_lists_what_there_is() {
    let error = Source::open("kitchen", None).err().unwrap().to_string();
    assert!(
        error.contains("kitchen") && error.contains("workshop"),
        "{error}"
    );
}

#[test]
fn counts_of_a_simulated_frame_cover_both_gain_states() {
    let source = Source::open("uniform", Some((16, 12))).unwrap();
    let mut lens = source.lens(1).unwrap();
    let counts = lens.expose(source.frame(0).unwrap()).unwrap();
    assert_eq!(counts.high.unwrap().len(), 192);
    assert_eq!(counts.low.unwrap().len(), 192);
}

// By hand: 240 s at 30 frames a second end at frame 7200; one a second up to 30 s are 31 frames,
// of which 28, 29 and 30 s lie in the last 90 frames (811 to 900) before frame 900.
#[test]
fn a_scenario_is_shown_sparsely_until_shortly_before_an_instant() {
    let source = Source::open("paint-store-door", Some((16, 12))).unwrap();
    assert_eq!(source.length(), 7201);
    assert_eq!(
        source.spread().unwrap(),
        [0, 1200, 2400, 3600, 4800, 6000, 7200]
    );
    let fed = source.feed(&[900]);
    assert_eq!(fed.len(), 28 + 90);
    assert_eq!(fed[..3], [0, 30, 60]);
    assert_eq!(fed[27..30], [810, 811, 812]);
    assert!(source.feeding().contains("last 3 s"));
    let target = Source::open("uniform", Some((8, 8))).unwrap();
    assert_eq!(target.feed(&[3, 1]), [0, 1, 2, 3]);
}
