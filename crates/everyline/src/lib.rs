//! The command line of everyline: configuration, commands, and what they print.
//!
//! Stages of the way from input to output live in crates of their own; here values are passed between them.
//! Standard output is data alone, standard error is for people. Start reading at [`run`]; `audit` is the
//! command that the others lean on.

mod arguments;
pub mod audit;
mod clock;
mod config_check;
pub mod configuration;
mod demo;
mod digest_command;
mod exit;
mod findings;
mod layout;
mod links_command;
pub mod live;
mod memory;
mod opened;
mod order;
pub mod page;
mod password;
mod print;
pub mod propose;
pub mod readings;
pub mod sending;
mod source;
mod status;
mod terminal;
mod tie;
mod times;
mod trial;
mod trouble;
mod watch;

use std::ffi::OsString;
use std::path::PathBuf;

use clap::Parser;

use arguments::{Arguments, Command, ConfigCommand, LinksCommand};
pub use exit::Exit;
pub use trouble::Trouble;

/// Runs the program with its arguments, the first being its name.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> Exit {
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    let program = arguments.first().map_or_else(|| PathBuf::from("everyline"), PathBuf::from);
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            // Nobody is left to be told where help or a usage error cannot be printed.
            let _ = error.print();
            return if error.use_stderr() { Exit::BadInput } else { Exit::Nothing };
        }
    };
    let done = match arguments.command {
        Command::Audit(asked) => audit::run(&asked),
        Command::Demo(asked) => demo::run(&asked, &program),
        Command::Config(ConfigCommand::Check(asked)) => config_check::run(&asked),
        Command::Config(ConfigCommand::Password) => password::run(),
        Command::Print(what) => print::run(&what),
        Command::Watch(asked) => watch::run(&asked),
        Command::Digest(asked) => digest_command::run(&asked),
        Command::Findings(asked) => findings::run(&asked),
        Command::Order(asked) => order::run(&asked),
        Command::SetAside(asked) => findings::set_aside(&asked),
        Command::Tie(asked) => tie::run(&asked),
        Command::Status(asked) => status::run(&asked),
        Command::Source(what) => source::run(&what),
        Command::Links(LinksCommand::Propose(asked)) => links_command::propose_links(&asked),
        Command::Links(LinksCommand::Check(asked)) => links_command::check::run(&asked),
        Command::Links(LinksCommand::Set(asked)) => links_command::set::run(&asked),
        Command::Links(LinksCommand::Import(asked)) => links_command::import::run(&asked),
        Command::Links(LinksCommand::Export(asked)) => links_command::export::run(&asked),
        Command::Links(LinksCommand::Sheet(asked)) => links_command::sheet::run(&asked),
        Command::Links(LinksCommand::Send(asked)) => links_command::send::run(&asked),
    };
    done.unwrap_or_else(|trouble| {
        terminal::tell(&trouble.to_string());
        Exit::BadInput
    })
}
