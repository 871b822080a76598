//! The packed profiles that the emulated board runs are those of the demonstration, byte for byte.
#![allow(clippy::unwrap_used, reason = "test code")]

use std::path::Path;

use glowsill::profile_file;
use glowsill_core::packed::MAX_LEN;

#[test]
fn packed_profiles_of_the_firmware_are_those_of_the_demonstration() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let names = |folder: &str, ending: &str| {
        let mut names: Vec<String> = std::fs::read_dir(root.join(folder))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter_map(|name| Some(name.strip_suffix(ending)?.to_owned()))
            .collect();
        names.sort();
        names
    };
    let shipped = names("demo-data/profiles", ".toml");
    assert!(!shipped.is_empty());
    assert_eq!(names("tests/firmware/profiles", ".bin"), shipped);
    for name in shipped {
        let file = root.join("demo-data/profiles").join(format!("{name}.toml"));
        let mut bytes = [0; MAX_LEN];
        let length = profile_file::load(&file)
            .unwrap()
            .profile
            .to_bytes(&mut bytes)
            .unwrap();
        let packed = root
            .join("tests/firmware/profiles")
            .join(format!("{name}.bin"));
        assert!(
            std::fs::read(&packed).unwrap() == bytes[..length],
            "glowsill profile pack {} --out {}",
            file.display(),
            packed.display()
        );
    }
}
