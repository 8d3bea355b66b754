//! What the numbers were measured on.
//!
//! Start reading at [`describe`].

use std::fs;
use std::process::Command;
use std::thread;

/// The machine in a few lines; what it does not tell is said to be unknown.
pub fn describe() -> String {
    let processor = labelled("/proc/cpuinfo", "model name");
    let kernel = read("/proc/sys/kernel/osrelease").unwrap_or_else(unknown);
    let cores = thread::available_parallelism().map_or_else(|_| unknown(), |cores| cores.to_string());
    format!(
        "{processor}, {cores} cores, {} of memory; {} {kernel}; {}",
        labelled("/proc/meminfo", "MemTotal"),
        std::env::consts::OS,
        said_by(Command::new("rustc").arg("--version")),
    )
}

/// How many programs wanted to run at the same time, over the last 1, 5 and 15 minutes. Where it was more than one
/// to begin with, the numbers hold other work too.
pub fn load() -> String {
    let load = read("/proc/loadavg").unwrap_or_else(unknown);
    load.split(' ').take(3).collect::<Vec<_>>().join(" ")
}

/// The most memory that this process held, below which it cannot tell how much another one did.
pub fn own_peak() -> String {
    labelled("/proc/self/status", "VmHWM")
}

/// The first line that a program writes.
pub fn said_by(command: &mut Command) -> String {
    let output = command.output().ok().and_then(|output| String::from_utf8(output.stdout).ok());
    output.as_deref().and_then(|text| text.lines().next()).map_or_else(unknown, str::to_owned)
}

/// What stands behind a label in a file of `label: value` lines.
fn labelled(file: &str, label: &str) -> String {
    let text = read(file).unwrap_or_default();
    let line = text.lines().find_map(|line| line.strip_prefix(label));
    line.map_or_else(unknown, |rest| rest.trim_start_matches([' ', '\t', ':']).to_owned())
}

fn read(file: &str) -> Option<String> {
    fs::read_to_string(file).ok().map(|text| text.trim().to_owned())
}

fn unknown() -> String {
    "unknown".to_owned()
}
