//! The `glowsill` command. See [`glowsill::cli`].

fn main() -> std::process::ExitCode {
    glowsill::cli::main()
}
