//! The structure of the sources, checked: who may import whom, what the core may not pull in, and mathematics that
//! differs between platforms. And that what the README runs from the sources is there.

mod imports;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

use imports::{Module, Sources, circles};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every crate with the file that is its root, and how many circles of files it still has: none may be added, and
/// when one is gone the number here goes down.
const CRATES: [(&str, usize); 12] = [
    ("rules-core/geometry/src/lib.rs", 0),
    ("rules-core/src/lib.rs", 5),
    ("rules-core/commander/src/lib.rs", 0),
    ("rules-core/study/src/lib.rs", 1),
    ("rules-core/convert/src/lib.rs", 0),
    ("rules-core/view/src/lib.rs", 3),
    ("rules-core/png/src/lib.rs", 0),
    ("server/wire/src/lib.rs", 0),
    ("server/src/lib.rs", 1),
    ("server/command-line/src/lib.rs", 0),
    ("client-cli/src/lib.rs", 0),
    ("packaging/src/lib.rs", 0),
];

/// The modules of the core from the ground up: each imports only those named before it, but for [`UPWARD`].
const CORE: [&str; 13] = [
    "interruption",
    "sanitize",
    "ruleset",
    "scenario",
    "orders",
    "verdict",
    "game",
    "clock",
    "authored",
    "shipped",
    "dice",
    "referee",
    "record",
];

/// The imports that still run upward: reading a typed sheet looks at the game, and the dice of a turn need the
/// canonical form of its sheet.
const UPWARD: [(&str, &str); 2] = [("orders", "game"), ("referee", "record")];

#[test]
fn no_more_files_import_each_other() {
    let mut found = Vec::new();
    for (root_file, known) in CRATES {
        let sources = Sources::read(&root().join(root_file));
        let arrows = sources.arrows();
        let circles = circles(&arrows);
        if circles.len() != known {
            let told: Vec<String> = circles
                .iter()
                .map(|circle| circle_in_words(circle, &arrows))
                .collect();
            found.push(format!(
                "{root_file}: {} circles, not {known}:{}",
                circles.len(),
                told.join("\n")
            ));
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

fn circle_in_words(circle: &[Module], arrows: &imports::Arrows) -> String {
    let mut lines = Vec::new();
    for from in circle {
        for (to, names) in &arrows[from] {
            if circle.contains(to) {
                let names: Vec<&str> = names.iter().map(String::as_str).collect();
                lines.push(format!(
                    "\n  {} takes {} from {}",
                    from.join("/"),
                    names.join(", "),
                    to.join("/")
                ));
            }
        }
    }
    lines.concat()
}

#[test]
fn modules_of_the_core_import_only_those_below_them() {
    let sources = Sources::read(&root().join("rules-core/src/lib.rs"));
    let floor = |module: &Module| {
        let name = module.first()?;
        let place = CORE.iter().position(|known| known == name);
        Some(place.unwrap_or_else(|| panic!("{name} has no place among the modules")))
    };
    let mut floors = BTreeSet::new();
    let mut found = Vec::new();
    let mut upward = BTreeSet::new();
    for (from, to) in &sources.arrows() {
        floors.extend(floor(from));
        for (to, names) in to {
            let Some((below, above)) = floor(from).zip(floor(to)).filter(|(from, to)| to > from)
            else {
                continue;
            };
            let arrow = (CORE[below], CORE[above]);
            upward.insert(arrow);
            if !UPWARD.contains(&arrow) {
                found.push(format!("{} -> {}: {names:?}", from.join("/"), to.join("/")));
            }
        }
    }
    assert_eq!(floors.len(), CORE.len(), "every module is there");
    assert!(found.is_empty(), "{}", found.join("\n"));
    assert_eq!(upward, UPWARD.into_iter().collect(), "an exception is gone");
}

/// The modules of the server, each row of the table in its `lib.rs`, from the ground up.
fn rows_of_the_server() -> Vec<Vec<String>> {
    let text = std::fs::read_to_string(root().join("server/src/lib.rs")).expect("the server");
    let rows = text.lines().filter_map(|line| {
        let cell = line.strip_prefix("//! | ")?.split(" | ").next()?;
        let names = cell.split('`').skip(1).step_by(2).map(str::to_owned);
        Some(names.collect::<Vec<_>>()).filter(|names| !names.is_empty())
    });
    rows.collect()
}

#[test]
fn modules_of_the_server_import_only_those_above_them_in_its_table() {
    let rows = rows_of_the_server();
    let arrows = Sources::read(&root().join("server/src/lib.rs")).arrows();
    let known: BTreeSet<&String> = arrows.keys().filter_map(|module| module.first()).collect();
    let listed: Vec<&String> = rows.iter().flatten().collect();
    assert_eq!(listed.iter().copied().collect::<BTreeSet<_>>(), known);
    assert_eq!(listed.len(), known.len(), "each once: {listed:?}");
    let row = |name: &String| rows.iter().position(|row| row.contains(name));
    let mut found = Vec::new();
    let mut seen = 0;
    for (from, to) in &arrows {
        for (to, names) in to {
            let (Some(own), Some(other)) = (from.first(), to.first()) else {
                continue;
            };
            if own != other {
                seen += 1;
                if row(other) >= row(own) {
                    found.push(format!(
                        "{} takes {names:?} from {}",
                        from.join("/"),
                        to.join("/")
                    ));
                }
            }
        }
    }
    assert!(seen > 100, "only {seen} imports were read");
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// The reader of imports sees a ring where there is one.
#[test]
fn a_ring_of_two_files_is_found() {
    let folder = tempfile::tempdir().expect("a folder");
    let write =
        |name: &str, text: &str| std::fs::write(folder.path().join(name), text).expect("written");
    write("lib.rs", "mod a;\nmod b;\nmod c;\npub use a::A;\n");
    write("a.rs", "use super::b::B;\npub struct A(B);\n");
    write("b.rs", "use crate::A;\npub struct B(Option<Box<A>>);\n");
    write("c.rs", "pub fn c(a: super::A) -> super::A { a }\n");
    let arrows = Sources::read(&folder.path().join("lib.rs")).arrows();
    let ring = [vec!["a".to_owned()], vec!["b".to_owned()]];
    assert_eq!(circles(&arrows), [ring.to_vec()]);
}

/// Crates that bring a runtime, a database, HTTP, a clock, threads or random numbers, and the one
/// that hides platform mathematics behind a trait.
const FORBIDDEN: [&str; 29] = [
    "ahash",
    "async-std",
    "axum",
    "chrono",
    "crossbeam",
    "fastrand",
    "futures",
    "getrandom",
    "hashbrown",
    "hyper",
    "mio",
    "native-tls",
    "num-traits",
    "postgres",
    "quinn",
    "rand",
    "rand_core",
    "rayon",
    "reqwest",
    "ring",
    "rusqlite",
    "rustls",
    "smol",
    "socket2",
    "sqlx",
    "time",
    "tokio",
    "ureq",
    "wasi",
];

#[test]
fn the_core_pulls_in_no_runtime_database_http_or_random_numbers() {
    let output = Command::new(env!("CARGO"))
        .args(["tree", "--package", "fieldpost-rules", "--edges", "normal"])
        .args([
            "--prefix",
            "none",
            "--format",
            "{p}",
            "--locked",
            "--offline",
        ])
        .current_dir(root())
        .output()
        .expect("cargo runs where its tests run");
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let names: BTreeSet<&str> = said
        .lines()
        .filter_map(|line| line.split(' ').next())
        .collect();
    assert!(names.contains("libm") && names.contains("serde"), "{said}");
    let found: Vec<&&str> = FORBIDDEN
        .iter()
        .filter(|name| names.contains(**name))
        .collect();
    assert!(found.is_empty(), "the core pulls in {found:?}");
}

/// A crate is not taken in without a reason that everybody can read.
#[test]
fn every_dependency_has_its_reason() {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--no-deps", "--format-version", "1"])
        .args(["--locked", "--offline"])
        .current_dir(root())
        .output()
        .expect("cargo runs where its tests run");
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let packages = metadata["packages"].as_array().expect("packages").iter();
    let names: BTreeSet<&str> = packages
        .flat_map(|package| package["dependencies"].as_array().expect("a list"))
        .filter_map(|dependency| dependency["name"].as_str())
        .filter(|name| !name.starts_with("fieldpost-"))
        .collect();
    assert!(names.contains("serde"), "{names:?}");
    let text = std::fs::read_to_string(root().join("DEVELOPERS.md")).expect("for developers");
    let (_, table) = text
        .split_once("## Dependencies")
        .expect("dependencies are told");
    let told: BTreeSet<&str> = table
        .lines()
        .filter_map(|line| line.strip_prefix("| ")?.split('|').next())
        .flat_map(|crates| crates.split([',', ' ']))
        .collect();
    let untold: Vec<&&str> = names.iter().filter(|name| !told.contains(**name)).collect();
    assert!(
        untold.is_empty(),
        "DEVELOPERS.md has no word for {untold:?}"
    );
}

/// Every `cargo run` of the README names a program that is there and runs. It stands here because it links
/// the programs anew, which trials of whole games beside it would be running.
/// The fuzzer is a workspace of its own that nothing else builds: its lock must not fall behind the core.
#[test]
fn the_fuzzer_is_locked_to_what_the_core_needs() {
    let lock = root().join("rules-core/fuzz/Cargo.lock");
    let lock = std::fs::read_to_string(lock).expect("locked");
    let mut packages = lock.split("[[package]]");
    let core = packages.find(|package| package.contains("name = \"fieldpost-rules\"\n"));
    let core = core.expect("the core is in it");
    let missing: Vec<String> = declared("rules-core/Cargo.toml")
        .into_iter()
        .filter(|name| !core.contains(&format!("\n \"{name}")))
        .collect();
    assert!(
        missing.is_empty(),
        "`cargo metadata` in rules-core/fuzz adds {missing:?}"
    );
}

/// Names of the dependencies in a manifest that are not for tests alone.
fn declared(manifest: &str) -> BTreeSet<String> {
    let text = std::fs::read_to_string(root().join(manifest)).expect("a manifest");
    let (_, listed) = text.split_once("\n[dependencies]\n").expect("dependencies");
    let listed = listed.split("\n[").next().unwrap_or(listed);
    let name = |line: &str| {
        line.split(['.', '=', ' '])
            .next()
            .filter(|name| !name.is_empty() && !name.starts_with('#'))
            .map(str::to_owned)
    };
    listed.lines().filter_map(name).collect()
}

#[test]
fn the_programs_that_the_readme_runs_run() {
    let readme = std::fs::read_to_string(root().join("README.md")).expect("a README");
    let mut in_block = false;
    let mut runs = 0;
    for line in readme.lines() {
        if line.starts_with("```") {
            in_block = line == "```sh";
        } else if in_block && line.starts_with("cargo run") {
            let (run, _) = line.split_once(" -- ").expect("something for the program");
            let output = Command::new(env!("CARGO"))
                .args(run.split_whitespace().skip(1))
                .args(["--", "--version"])
                .current_dir(root())
                .output()
                .expect("cargo runs where its tests run");
            let said = String::from_utf8_lossy(&output.stderr);
            assert!(output.status.success(), "{line}: {said}");
            runs += 1;
        }
    }
    assert!(runs > 0, "the README shows how to run a program");
}

/// Functions of `f64` whose last bit is the platform's own choice, and those whose result depends
/// on the order of equal arguments.
const PLATFORM_MATHS: [&str; 27] = [
    "sin", "cos", "tan", "sin_cos", "asin", "acos", "atan", "atan2", "sinh", "cosh", "tanh",
    "asinh", "acosh", "atanh", "hypot", "powi", "powf", "exp", "exp2", "exp_m1", "ln", "ln_1p",
    "log", "log2", "log10", "cbrt", "mul_add",
];

#[test]
fn the_lint_bans_platform_maths_clocks_and_unordered_maps() {
    let lint = std::fs::read_to_string(root().join("rules-core/clippy.toml")).expect("the lint");
    let banned = |path: &str| lint.contains(&format!("path = \"{path}\", reason = \""));
    let missing: Vec<String> = PLATFORM_MATHS
        .iter()
        .chain(&["max", "min"])
        .map(|name| format!("f64::{name}"))
        .chain(
            [
                "std::time::Instant::now",
                "std::time::SystemTime::now",
                "std::collections::HashMap",
                "std::collections::HashSet",
            ]
            .map(str::to_owned),
        )
        .filter(|path| !banned(path))
        .collect();
    assert!(
        missing.is_empty(),
        "rules-core/clippy.toml does not ban {missing:?}"
    );
    // and the lint is an error where it counts
    let run = std::fs::read_to_string(root().join(".ci/run")).expect("what must pass");
    assert!(run.contains("cargo clippy") && run.contains("-D warnings"));
}

/// The lint sees methods by type; this sees them by name, also where a lint is allowed away.
#[test]
fn no_file_of_the_core_calls_platform_maths() {
    let mut found = Vec::new();
    let mut files = 0;
    each_source(&root().join("rules-core/src"), &mut |path, text| {
        files += 1;
        for (number, line) in text.lines().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            let calls = |name: &&str| {
                code.contains(&format!(".{name}(")) || code.contains(&format!("f64::{name}("))
            };
            // strings that fold to lower case and the like have names of their own
            if let Some(name) = PLATFORM_MATHS.iter().find(|name| calls(name)) {
                found.push(format!("{}:{}: {name}", path.display(), number + 1));
            }
        }
    });
    assert!(files > 150, "{files} files");
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// Folders of the core whose figures decide something about a sheet or a record.
const FOLDERS_THAT_JUDGE: [&str; 4] = ["geometry/src", "src/game", "src/referee", "src/verdict"];

/// A figure as small as a tolerance of arithmetic stands beside its name and its reason
/// (`rules-core/manual/figures.md`), not in the middle of a law.
#[test]
fn no_small_figure_decides_unnamed() {
    let is_of_tests = |path: &Path| {
        let part = path.strip_prefix(root()).unwrap_or(path);
        let part = part.to_string_lossy().replace('\\', "/");
        let of_tests = ["trials", "tests", "testing.rs", "properties.rs", "wild.rs"];
        of_tests.iter().any(|name| part.contains(name))
    };
    let mut unnamed = Vec::new();
    let mut looked_at = 0;
    for folder in FOLDERS_THAT_JUDGE {
        let folder = root().join("rules-core").join(folder);
        each_source(&folder, &mut |path, text| {
            if is_of_tests(path) {
                return;
            }
            looked_at += 1;
            let (laws, _) = text
                .split_once("#[cfg(test)]\nmod tests")
                .unwrap_or((text, ""));
            for (number, line) in (1..).zip(laws.lines()) {
                let line = line.trim_start();
                let is_named = line.starts_with("//") || line.contains("const ");
                if !is_named && has_small_figure(line) {
                    unnamed.push(format!("{}:{number}: {line}", path.display()));
                }
            }
        });
    }
    assert!(looked_at > 40, "only {looked_at} files");
    assert!(unnamed.is_empty(), "{unnamed:#?}");
    assert!(has_small_figure("x + 1e-9 > y") && !has_small_figure("the-2nd"));
}

/// Whether a line of code has a number with a negative exponent.
fn has_small_figure(line: &str) -> bool {
    let digit = |at: usize| line.as_bytes().get(at).is_some_and(u8::is_ascii_digit);
    line.match_indices("e-")
        .any(|(at, _)| at > 0 && digit(at - 1) && digit(at + 2))
}

fn each_source(folder: &Path, look: &mut impl FnMut(&Path, &str)) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            each_source(&path, look);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            look(&path, &std::fs::read_to_string(&path).expect("text"));
        }
    }
}
