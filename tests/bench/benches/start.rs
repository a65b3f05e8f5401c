//! Whole commands without a server, from starting the process to its end.
//!
//! The ratio beside it: a process that does nothing, which pays for starting alone.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use criterion::{Criterion, criterion_group, criterion_main};
use fieldpost_bench::{battle, client, texts};

fn commands(criterion: &mut Criterion) {
    let fieldpost = client();
    let home = tempfile::tempdir().expect("a temporary folder");
    let run = |args: &[&str]| {
        let status = in_home(&fieldpost, home.path()).args(args).status();
        assert!(status.expect("runs").success(), "{args:?}");
    };
    let mut group = criterion.benchmark_group("start");
    group.bench_function("nothing", |b| {
        b.iter(|| Command::new(env!("CARGO_BIN_EXE_nothing")).status());
    });
    let (ruleset, scenario) = texts(30, 12);
    let (_, sheet) = battle(30, 12);
    let write = |name: &str, text: &str| {
        std::fs::write(home.path().join(name), text).expect("written");
    };
    write("rules.toml", &ruleset);
    write("battle.toml", &scenario);
    write("sheet.json", &serde_json::to_string(&sheet).expect("JSON"));
    run(&["local", "new", "rules.toml", "battle.toml", "b.ndjson"]);
    for line in [
        "--version",
        "words",
        "settings zones",
        "battles",
        "starter ruleset",
        "schema ruleset",
        "check rules.toml battle.toml",
        "study table musket",
        "convert handbooks",
        "local table b.ndjson",
        "local try b.ndjson sheet.json",
    ] {
        let args: Vec<&str> = line.split(' ').collect();
        group.bench_function(line, |b| b.iter(|| run(&args)));
    }
    group.finish();
}

fn in_home(program: &PathBuf, home: &Path) -> Command {
    let mut command = Command::new(program);
    command
        .current_dir(home)
        .env("FIELDPOST_CONFIG_DIR", home.join("config"))
        .env("FIELDPOST_DATA_DIR", home.join("data"))
        .stdout(Stdio::null());
    command
}

criterion_group!(benches, commands);
criterion_main!(benches);
