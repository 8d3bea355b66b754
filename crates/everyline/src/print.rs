//! `everyline print`: what other programs need.

use clap::CommandFactory;

use crate::arguments::{Arguments, PrintCommand};
use crate::configuration;
use crate::exit::Exit;
use crate::terminal::write_data;
use crate::trouble::Trouble;

/// Prints it.
///
/// # Errors
/// Where there is no such command to print the page of, or standard output cannot be written.
pub fn run(what: &PrintCommand) -> Result<Exit, Trouble> {
    let text = match what {
        PrintCommand::Completions { shell } => {
            let mut text = Vec::new();
            clap_complete::generate(*shell, &mut Arguments::command(), "everyline", &mut text);
            String::from_utf8_lossy(&text).into_owned()
        }
        PrintCommand::Man { command } => man_page(command)?,
        PrintCommand::Schema { jsonl } => {
            let schema = if *jsonl { digest::finding_schema() } else { digest::schema() };
            format!("{schema:#}\n")
        }
        PrintCommand::Configuration => configuration::EXAMPLE.to_owned(),
    };
    write_data(&text)?;
    Ok(Exit::Nothing)
}

fn man_page(path: &[String]) -> Result<String, Trouble> {
    let mut root = Arguments::command();
    root.build();
    let mut command = &root;
    for name in path {
        command = command.find_subcommand(name).ok_or_else(|| {
            let known: Vec<&str> = command.get_subcommands().map(clap::Command::get_name).collect();
            Trouble::new("no man page was printed", format!("{name} is no command of {}", command.get_name()))
                .help(format!("known here: {}", known.join(", ")))
        })?;
    }
    let mut text = Vec::new();
    clap_mangen::Man::new(command.clone())
        .render(&mut text)
        .map_err(|error| Trouble::new("no man page was printed", error))?;
    Ok(String::from_utf8_lossy(&text).into_owned())
}
