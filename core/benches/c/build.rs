//! Compiles the C form, always at -O3, so that a build for tests times the same code.

fn main() {
    println!("cargo::rerun-if-changed=pipeline.c");
    cc::Build::new()
        .file("pipeline.c")
        .std("c99")
        .opt_level(3)
        .warnings_into_errors(true)
        .compile("glowsill_plain_c");
}
