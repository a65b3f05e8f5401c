//! `fieldpost-server demo`: one command shows a whole game's parts.

use std::fs;

use crate::host::server;

#[test]
fn the_demonstration_plays_two_turns_and_leaves_its_pictures() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = || {
        let output = server()
            .current_dir(folder.path())
            .args(["demo", "--then-exit", "--listen", "127.0.0.1:0"])
            .output()
            .expect("runs");
        let (told, failed) = (
            String::from_utf8_lossy(&output.stdout).into_owned(),
            String::from_utf8_lossy(&output.stderr).into_owned(),
        );
        assert!(output.status.success(), "{told}\n{failed}");
        told
    };
    let told = run();
    for part in [
        "160.0 mm of an allowance of 120.0 mm",
        "halt zone of Fourth Vale Foot (red-1)",
        "fieldpost seats keep red",
        "Accepted",
    ] {
        assert!(told.contains(part), "{part:?} is not in\n{told}");
    }
    for name in ["table.svg", "red-refused.svg", "blue-refused.svg"] {
        let picture = fs::read_to_string(folder.path().join("showcase").join(name)).expect(name);
        assert!(
            picture.starts_with("<svg") && picture.trim_end().ends_with("</svg>"),
            "{name}"
        );
    }
    let record =
        fs::read_to_string(folder.path().join("showcase/record.ndjson")).expect("a record");
    assert!(record.contains("battle-fought"), "{record}");
    // A second time it finds a folder of its own.
    run();
    assert!(folder.path().join("showcase-2/table.svg").exists());
}
