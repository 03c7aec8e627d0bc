//! Running other programs.

use std::path::PathBuf;
use std::process::{Command, Stdio};

use crate::{Outcome, files};

/// The cargo that runs this program, started in the workspace.
pub(crate) fn cargo() -> Command {
    let program = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(program);
    command.current_dir(files::root());
    command
}

/// Runs to the end with the terminal's own output.
pub(crate) fn run(command: &mut Command) -> Outcome {
    let shown = shown(command);
    let status = command
        .status()
        .map_err(|fault| format!("cannot start `{shown}`: {fault}"))?;
    if status.success() {
        Ok(())
    } else {
        Err(format!("`{shown}` failed ({status})"))
    }
}

/// Runs to the end and gives back what was printed.
pub(crate) fn output(command: &mut Command) -> Outcome<String> {
    let shown = shown(command);
    let output = command
        .stderr(Stdio::inherit())
        .output()
        .map_err(|fault| format!("cannot start `{shown}`: {fault}"))?;
    if output.status.success() {
        Ok(String::from_utf8_lossy(&output.stdout).into_owned())
    } else {
        Err(format!("`{shown}` failed ({})", output.status))
    }
}

/// Where a program lies, if it is on the search path.
pub(crate) fn find(program: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path)
        .map(|folder| folder.join(program))
        .find(|candidate| candidate.is_file())
}

/// The folder cargo builds into: `CARGO_TARGET_DIR` and cargo's own settings are respected.
pub(crate) fn target_dir() -> Outcome<PathBuf> {
    let text = output(cargo().args(["metadata", "--format-version=1", "--no-deps"]))?;
    let metadata: serde_json::Value = serde_json::from_str(&text)
        .map_err(|fault| format!("`cargo metadata` printed what is not JSON: {fault}"))?;
    metadata["target_directory"]
        .as_str()
        .map(PathBuf::from)
        .ok_or_else(|| "`cargo metadata` names no target directory".to_owned())
}

fn shown(command: &Command) -> String {
    let mut words = vec![command.get_program().to_string_lossy().into_owned()];
    words.extend(
        command
            .get_args()
            .map(|word| word.to_string_lossy().into_owned()),
    );
    words.join(" ")
}
