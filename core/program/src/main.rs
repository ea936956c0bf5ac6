//! `bowseam`: the demo yard in a browser, the office, a computation of the core, a packet.

mod backup;
mod baked;
mod demo;
mod figure;
mod office;
mod packet;
mod pages;
mod serve;
mod tls;
mod yard;

use clap::{Args, Parser, Subcommand};
use std::{path::PathBuf, process::ExitCode};

/// Trailer body repair, from the first photo to the office.
#[derive(Parser)]
#[command(name = "bowseam", version, about)]
struct Program {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    serve: Serve,
}

#[derive(Subcommand)]
enum Command {
    /// The demo yard: a phone's screens and an office, on loopback (the same as no command)
    Demo(Serve),
    /// The office on its own
    Office(Box<office::Run>),
    /// Works something out: JSON on standard input, JSON on standard output
    Figure {
        /// roof-section, side-patch, rivets, joint, cut-bars, cut-sheets, crew, photo-scale, price, vin or sheeting
        what: String,
    },
    /// Writes the packet of a job and proves its photos
    Packet(packet::Packet),
    /// Copies an office into a folder, also while it works
    Backup(Box<backup::Backup>),
    /// Brings a backup back, into an empty place
    Restore(Box<backup::Restore>),
    /// Makes the demo yard anew from demo-data/yard.json and writes what came out
    #[command(hide = true)]
    Bake {
        /// demo-data/yard_entries.json
        file: PathBuf,
    },
}

/// How to serve.
#[derive(Args, Clone)]
pub struct Serve {
    /// Port on loopback; a free one if it is not given
    #[arg(long, default_value_t = 0)]
    port: u16,
    /// Data folder; a fresh temporary one if it is not given
    #[arg(long)]
    data: Option<PathBuf>,
    /// Do not open a browser
    #[arg(long)]
    no_browser: bool,
}

/// Why the program ends, with its exit code and what it says on standard error.
pub struct Ended {
    code: u8,
    sentence: String,
}

impl Ended {
    /// Ends with a code and a sentence.
    pub fn with(code: u8, sentence: impl Into<String>) -> Self {
        Self {
            code,
            sentence: sentence.into(),
        }
    }
}

impl From<bowseam_app::answer::Refusal> for Ended {
    fn from(refusal: bowseam_app::answer::Refusal) -> Self {
        Self::with(1, refusal.sentence)
    }
}

fn main() -> ExitCode {
    let program = Program::parse();
    let done = match program.command {
        None => demo::demo(&program.serve),
        Some(Command::Demo(serve)) => demo::demo(&serve),
        Some(Command::Office(run)) => office::office(&run),
        Some(Command::Figure { what }) => figure::figure(&what),
        Some(Command::Packet(asked)) => packet::packet(&asked),
        Some(Command::Backup(asked)) => backup::backup(&asked),
        Some(Command::Restore(asked)) => backup::bring_back(&asked),
        Some(Command::Bake { file }) => baked::bake(&file),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(ended) => {
            eprintln!("{}", ended.sentence);
            ExitCode::from(ended.code)
        }
    }
}
