//! The command line: arguments here, a file per command, and the exit codes.
//!
//! | exit code | meaning |
//! | --- | --- |
//! | 0 | everything as required; in the demonstration, every profile does as it is marked |
//! | 1 | a requirement fails, or a profile that is there to fail passes |
//! | 2 | the input cannot be used; the message names field, value, limits and next step |
//! | 130 | interrupted; nothing unfinished is left (128 and the number of SIGINT, as shells count) |

mod apparent;
mod barrier;
mod chart;
mod compare;
mod error;
mod explain;
mod interrupt;
mod output;
mod profile;
mod render;
mod scenario;
mod vectors;
mod verify;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};

pub use error::CliError;
pub use verify::{Expectation, ProfileResult, Standing};

use crate::measure::MeasureId;

/// Shown wherever a result could be taken for more than it is.
pub const CAUTION: &str = "Simulation and teaching only; not a certification. Apparent is not true \
temperature. Follow the authority having jurisdiction.";

const EXIT_CODES: &str = "\
EXIT CODES
  0  everything as required (in the demonstration: every profile does as it is marked,
     the good ones pass and those that are there to fail do fail)
  1  a requirement fails, or a profile that is there to fail passes
  2  the input cannot be used; the message says where, what and what to do
  130  interrupted (Ctrl-C, SIGTERM)

CAUTIONS
  Simulation and teaching only; not a certification, and no evidence that any equipment is fit
  for entry. Apparent is not true temperature. An imager does not see through walls, glass or
  water. Follow the authority having jurisdiction, the local procedures and qualified instructors.";

/// Computes, measures and proves what a fire-service thermal imager display shows.
///
/// A display pipeline stands between the sensor of a thermal imager and its glass: two gain states
/// are merged, the grey scale follows the scene, colour starts at an onset, and an overlay is blended
/// over the grey picture. glowsill runs that pipeline on simulated targets and measures what a crew
/// could see: where colour starts, whether detail stays visible behind it, what a flame hides.
#[derive(Debug, Parser)]
#[command(name = "glowsill", version, after_help = EXIT_CODES, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Measures profiles, judges them against requirements, and writes a report.
    #[command(after_help = VERIFY_EXAMPLES)]
    Verify(VerifyArguments),
    /// Draws what a profile shows of a scenario, a simulated target or a recording.
    #[command(after_help = render::EXAMPLES)]
    Render(render::RenderArguments),
    /// Shows the same instants under several profiles, side by side on one sheet.
    #[command(after_help = compare::EXAMPLES)]
    Compare(compare::CompareArguments),
    /// Explains why the picture changed between two instants, on one sheet.
    #[command(after_help = explain::EXAMPLES)]
    Explain(explain::ExplainArguments),
    /// Draws the chart of a profile: which colour stands for which apparent temperature.
    #[command(
        after_help = "EXAMPLE\n  glowsill chart --profile demo-data/profiles/size-up.toml --out size-up.png"
    )]
    Chart(ChartArguments),
    /// Computes what an imager reads of a surface, or the surface behind a reading.
    #[command(after_help = apparent::EXAMPLES)]
    Apparent(apparent::ApparentArguments),
    /// Tells when the heat of a fire behind a wall first shows in colour, for each wall and profile.
    #[command(after_help = BARRIER_HELP)]
    Barrier(BarrierArguments),
    /// Lists, shows and checks scenarios: rooms with a fire that change with time.
    #[command(subcommand)]
    Scenario(scenario::ScenarioCommand),
    /// Checks profile files, or packs them for a microcontroller.
    #[command(subcommand)]
    Profile(ProfileCommand),
    /// Checks another implementation of the pipeline against the conformance vectors.
    #[command(subcommand)]
    Vectors(VectorsCommand),
}

const VERIFY_EXAMPLES: &str = "\
Without profiles the demonstration runs: four profiles that should pass and two poor examples that
are there to fail. Exit code 0 then means that every one does as it is marked. With profiles of your
own it means that each does as required. What could not be measured is shown as not evaluated; it
counts neither as pass nor as failure, but a profile of which nothing was evaluated is not accepted.

EXAMPLES
  The demonstration; then open glowsill-report/report.html:
    glowsill verify
  A profile of your own against requirements of your own:
    glowsill verify --profile mine.toml --requirements ours.toml --out mine-report
  One measure only, as JSON:
    glowsill verify --profile mine.toml --only detail --json

MEASURES
  onset         apparent temperature at which colour starts
  detail        separation of bars behind colour
  dimming       loss of marks as a hot source grows
  seam          the transition between the two gain states
  steadiness    grey pumping and flashes
  colour-order  distances and luminance order of the colours
  latency       frames from a step to the display's response

EXIT CODES
  0  as required, or in the demonstration as marked
  1  a requirement fails, or a profile that is there to fail passes
  2  the input cannot be used
  130  interrupted (Ctrl-C, SIGTERM); what is unfinished is removed, an earlier report stays

YES OR NO
  Some quantities are yes or no (unit \"1 = yes\"): write at_least = 1 to require yes, at_most = 0 to
  require no. docs/requirements.md describes the file.";

#[derive(Debug, Args)]
struct VerifyArguments {
    /// Profile file that should do as required; may be repeated
    #[arg(long, value_name = "FILE")]
    profile: Vec<PathBuf>,
    /// Profile file that is there to fail, such as a teaching example; may be repeated
    #[arg(long, value_name = "FILE")]
    expect_fail: Vec<PathBuf>,
    /// Requirements file; docs/requirements.md describes it [default: the demonstration's]
    #[arg(long, value_name = "FILE")]
    requirements: Option<PathBuf>,
    /// Folder for the report; made if needed
    #[arg(long, value_name = "DIR", default_value = "glowsill-report")]
    out: PathBuf,
    /// Seed of the simulated noise; the same seed gives the same numbers
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Makes only this measure and judges only what needs it; may be repeated
    #[arg(long, value_name = "MEASURE")]
    only: Vec<MeasureId>,
    /// Writes the verdicts as JSON to the terminal instead of tables
    #[arg(long)]
    json: bool,
    /// Writes nothing to the terminal but errors
    #[arg(long, conflicts_with = "json")]
    quiet: bool,
}

#[derive(Debug, Args)]
struct ChartArguments {
    /// Profile file
    #[arg(long, value_name = "FILE")]
    profile: PathBuf,
    /// The picture to write; its ending, .png or .svg, chooses the form
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
}

const BARRIER_HELP: &str = "\
An imager does not see through a wall: it sees the wall's own face, which warms from behind, late or
never. This command heats assemblies on one side, computes the temperature of the other face, and says
when it first appears as hot as the onset of each profile. Until then the display shows no colour,
whatever burns behind. An assembly is a wall, door, ceiling or pane as it is built, layer by layer.

ASSEMBLIES
  steel-sheet          thin steel sheet, 1 mm
  steel-double         steel door, two sheets with air between
  steel-insulated      insulated panel, two sheets with stone wool between
  plasterboard-stud    plasterboard on both sides of studs
  plaster-lath         plaster on wooden lath, on both sides of studs
  brick                brick wall, 102 mm
  concrete             concrete wall, 150 mm
  timber-door          solid timber door, 44 mm
  window               window pane, 4 mm
  ceiling-plasterboard plasterboard ceiling with a timber floor above, fire below
  ceiling-tile         suspended mineral-tile ceiling, fire in the void above

CLOTHING (no barrier; only if asked for by name)
  turnout-gear         turnout gear, its inner face: these minutes are no protection time

EXPOSURES (gas and flames on the fire side)
  iso834               standard curve of ISO 834
  e119                 standard curve of ASTM E119
  hydrocarbon          hydrocarbon curve of EN 1991-1-2
  external             external fire curve of EN 1991-1-2
  constant:600C        one temperature from the start, in °C, °F or K
  scenario:NAME        what the fire of a scenario does to its door, panel or pane, or to the ceiling if
                       there is none, from the start of the fire to the end of the scenario; NAME is one
                       of `glowsill scenario list` or a .toml file
  scenario:NAME@PLACE  the same at another door, panel or pane, or at a side such as workshop.left

EXAMPLES
  Every assembly and every demonstration profile under a standard fire; then open
  glowsill-barrier/barrier.html:
    glowsill barrier
  What the fire of the paint store does to its steel door, and would do to a timber door:
    glowsill barrier --exposure scenario:paint-store-door --assembly steel-sheet --assembly timber-door
  A steel door with smoke of 180 °C behind it, for a profile of your own, 20 minutes:
    glowsill barrier --assembly steel-double --exposure constant:180C --profile mine.toml --minutes 20

LIMITS
  One-dimensional, undamaged assemblies of dry material with constant properties: gaps, hinges, studs, cracks
  and moisture are left out, and a real fire is no standard curve. docs/fire-and-walls.md states the model.";

#[derive(Debug, Args)]
struct BarrierArguments {
    /// Assembly by its name, see below; may be repeated [default: all but clothing]
    #[arg(long, value_name = "NAME")]
    assembly: Vec<String>,
    /// What the fire side is exposed to, see below
    #[arg(long, value_name = "EXPOSURE", default_value = "iso834")]
    exposure: barrier::Asked,
    /// Profile file; may be repeated [default: the demonstration's]
    #[arg(long, value_name = "FILE")]
    profile: Vec<PathBuf>,
    /// How long the fire lasts, 1 to 480 minutes [default: 60, or as long as the scenario]
    #[arg(long, value_name = "N", value_parser = barrier::minutes)]
    minutes: Option<f64>,
    /// Folder for the sheet; made if needed
    #[arg(long, value_name = "DIR", default_value = "glowsill-barrier")]
    out: PathBuf,
    /// Writes JSON to the terminal instead of the table
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Subcommand)]
enum ProfileCommand {
    /// Reads a profile file and says what it does, or exactly what is wrong with it.
    Check {
        /// The profile file, TOML; docs/profile-format.md describes every field
        #[arg(value_name = "FILE")]
        file: PathBuf,
    },
    /// Writes the binary form of a profile that the core reads on a microcontroller.
    #[command(
        after_help = "EXAMPLE\n  glowsill profile pack demo-data/profiles/search.toml --out search.bin"
    )]
    Pack {
        /// The profile file, TOML
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// The binary file to write
        #[arg(long, value_name = "FILE")]
        out: PathBuf,
    },
}

const VECTORS_EXAMPLES: &str = "\
The program reads a request a line from its standard input and writes an answer a line to its standard
output: whole numbers with blanks between, easy to read in C. docs/vectors.md describes the protocol;
tests/conformance/c is a whole implementation to look at. A stage that the program does not have it
answers with the word unsupported; that is not a pass, but --only leaves stages out.

EXAMPLES
  Everything:
    glowsill vectors check --command ./port
  The merge and the bands alone, as JSON:
    glowsill vectors check --command \"./port --fast\" --only merge --only bands --json

EXIT CODES
  0  every vector passed
  1  a vector is wrong, unanswered or unsupported
  2  the program cannot be run, or there is no such stage";

#[derive(Debug, Subcommand)]
enum VectorsCommand {
    /// Runs a program over the vectors and says which it gets wrong and what that may mean.
    #[command(after_help = VECTORS_EXAMPLES)]
    Check(VectorsCheckArguments),
    /// Lists the stages; with --only also their vectors and the mistakes they catch.
    List {
        /// This stage only; may be repeated
        #[arg(long, value_name = "STAGE")]
        only: Vec<String>,
        /// Writes JSON
        #[arg(long)]
        json: bool,
    },
    /// Writes the request line and the expected answer line of one vector.
    #[command(after_help = "EXAMPLE\n  glowsill vectors show bands-002")]
    Show {
        /// Identifier of the vector
        #[arg(value_name = "ID")]
        id: String,
    },
}

#[derive(Debug, Args)]
struct VectorsCheckArguments {
    /// The program and its arguments, separated by blanks; no shell is used
    #[arg(long, value_name = "PROGRAM")]
    command: String,
    /// This stage only; may be repeated; glowsill vectors list names them
    #[arg(long, value_name = "STAGE")]
    only: Vec<String>,
    /// Longest time for one answer, seconds, 0.1 to 3600
    #[arg(long, value_name = "SECONDS", default_value = "10", value_parser = vectors::seconds)]
    time_limit: std::time::Duration,
    /// Writes every vector's outcome as JSON instead of sentences
    #[arg(long)]
    json: bool,
}

impl Command {
    /// What the command puts into a folder and an interrupt takes away while it is unfinished.
    fn fills(&self) -> Option<&'static str> {
        match self {
            Self::Verify(_) => Some("the report"),
            Self::Render(_) => Some("the pictures"),
            Self::Compare(_) | Self::Explain(_) | Self::Barrier(_) => Some("the sheet"),
            Self::Chart(_)
            | Self::Apparent(_)
            | Self::Scenario(_)
            | Self::Profile(_)
            | Self::Vectors(_) => None,
        }
    }

    fn run(&self) -> Result<ExitCode, CliError> {
        if let Some(what) = self.fills() {
            interrupt::watch(what)?;
        }
        match self {
            Self::Verify(arguments) => verify::run(arguments),
            Self::Render(arguments) => render::run(arguments),
            Self::Compare(arguments) => compare::run(arguments),
            Self::Explain(arguments) => explain::run(arguments),
            Self::Chart(arguments) => chart::run(arguments),
            Self::Apparent(arguments) => apparent::run(arguments),
            Self::Barrier(arguments) => barrier::run(arguments),
            Self::Scenario(command) => scenario::run(command),
            Self::Profile(command) => profile::run(command),
            Self::Vectors(command) => vectors::run(command),
        }
    }
}

/// Reads the arguments, runs the command, and gives the exit code.
#[must_use]
pub fn main() -> ExitCode {
    match Arguments::parse().command.run() {
        Ok(code) => code,
        Err(error) => {
            output::error(&error);
            ExitCode::from(2)
        }
    }
}
