//! The demonstration's profiles in their packed form.
//!
//! The files are those that `glowsill profile pack` writes; a test of the host tool holds them to
//! the TOML files they come from.

/// Name and bytes of each profile.
pub const ALL: [(&str, &[u8]); 6] = [
    (
        "interior-attack",
        include_bytes!("../../profiles/interior-attack.bin"),
    ),
    ("overhaul", include_bytes!("../../profiles/overhaul.bin")),
    ("search", include_bytes!("../../profiles/search.bin")),
    ("size-up", include_bytes!("../../profiles/size-up.bin")),
    (
        "poor-cycle",
        include_bytes!("../../profiles/poor-cycle.bin"),
    ),
    (
        "poor-opaque",
        include_bytes!("../../profiles/poor-opaque.bin"),
    ),
];
