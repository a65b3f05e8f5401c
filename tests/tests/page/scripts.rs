//! The page's modules, tried and checked by the tools of their own language where these are.

use std::path::{Path, PathBuf};
use std::process::Command;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/page")
}

/// Runs a tool in the page's folder; without the tool it says so.
fn passes(tool: &str, arguments: &[&str]) {
    let ran = Command::new(tool)
        .args(arguments)
        .current_dir(folder())
        .output();
    let output = match ran {
        Ok(output) => output,
        Err(error) => {
            eprintln!("skipped: {tool} is not installed here ({error})");
            return;
        }
    };
    let said = [output.stdout, output.stderr].concat();
    let said = String::from_utf8_lossy(&said);
    assert!(output.status.success(), "{tool} {arguments:?}:\n{said}");
}

#[test]
fn the_modules_without_a_screen_do_what_their_tests_say() {
    passes("node", &["--test", "tests/"]);
}

#[test]
fn the_types_of_the_modules_fit() {
    passes("tsc", &["--project", "."]);
}

/// What people wrote is never read as HTML, and nothing is fetched from elsewhere.
#[test]
fn no_module_makes_html_of_text_or_names_another_origin() {
    let files = std::fs::read_dir(folder()).expect("a folder of the project");
    let mut seen = 0;
    for file in files {
        let path = file.expect("a file").path();
        if path.extension().is_none_or(|ending| ending != "js") {
            continue;
        }
        seen += 1;
        let text = std::fs::read_to_string(&path).expect("text");
        for banned in [
            "innerHTML",
            "outerHTML",
            "insertAdjacentHTML",
            "document.write",
            "eval(",
            "https://",
        ] {
            assert!(!text.contains(banned), "{banned} in {}", path.display());
        }
        assert!(
            text.starts_with("/**"),
            "{} says what it is for",
            path.display()
        );
    }
    assert!(seen > 20, "{seen}");
}
