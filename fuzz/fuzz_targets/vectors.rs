//! Vector files: any text gives vectors or an error that is told; the expected answer fits itself.
#![no_main]

use glowsill_vectors::{VectorFile, compare};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let Ok(text) = core::str::from_utf8(data) else {
        return;
    };
    let file = match VectorFile::parse("fuzz.json", text) {
        Ok(file) => file,
        Err(error) => return assert!(!error.to_string().is_empty()),
    };
    // Lists may be long; a few of them show what many would.
    for vector in file.vectors.iter().take(4) {
        if let Err(error) = file.request_line(vector) {
            assert!(!error.to_string().is_empty());
        }
        match file.answer_line(vector) {
            Ok(line) => {
                let judged = compare(&file, vector, &line);
                let fits = !matches!(&judged, Ok(Some(_)));
                assert!(fits, "the expected answer does not fit itself: {judged:?}");
            }
            Err(error) => assert!(!error.to_string().is_empty()),
        }
    }
});
