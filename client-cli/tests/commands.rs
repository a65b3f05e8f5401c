//! The real binary: help, errors and exit codes, word for word, and a battle without a server.

mod common;

use snapbox::str;

use common::{fieldpost, home};

#[test]
fn help_shows_the_commands_and_a_first_game() {
    let home = home();
    let help = fieldpost(home.path()).arg("--help").assert().success();
    help.stdout_eq(str![[r#"
Play measured battles by post: read the news, try your orders, post them

Usage: fieldpost [OPTIONS] <COMMAND>

Commands:
  join         Take a seat with an invitation
  seats        Show the seats kept here; choose, forget or add one
  news         Tell what happened since you last looked
  table        Show the table
  try          Measure a turn sheet without posting it
  post         Post a turn sheet
  event        Show one event with everything that was measured
  measure      Measure between two units: distance, zones, sight, command, cover
  reach        Show the ground that a unit can reach this turn
  placing      Tell how to lay the units out on a real table, with a tape from two edges
  placed       Read a unit's place back off a real table, and compare it with the record
  print        Print the table at true scale, on sheets that go together
  replay       Make a page or a picture that plays the whole game by itself
  standing     Show or set what your units do in the enemy's turn
  clock        Show the clock; take leave, pause, claim the battle
  concede      Give the battle up
  dispute      Ask the umpire to look at something
  rule         Give a ruling and do what follows from it (umpire)
  consent      Agree that somebody who plays on the other side rules as well
  keys         Show the keys that seats sign with; add, remove, replace or countersign one
  notices      Show or set where you hear that it is your turn: by e-mail, by webhook
  compare      Show the head of the record in digits, to read to the other side
  record       Save the whole record of a game
  audit        Check a record from nothing: its chain, its dice, every verdict
  words        Explain how orders are written
  games        List the games that you may read
  open         Open a game (organiser)
  invite       Issue a new invitation to a seat (organiser)
  spectators   Let everybody read a game, or nobody but its players (organiser)
  seating      Show the seats of a game and who holds them; add or free one (organiser)
  members      Show the members of the club; add, change or remove one (organiser)
  check        Check ruleset, scenario and board game files, showing every fault
  draw         Draw a scenario's opening table
  battles      List the battles that come with this program, or write one's files out
  schema       Print the JSON Schema of a kind of file, or of what a command answers with --json
  settings     Explain every setting of ruleset and scenario files
  starter      Print a new file to start writing from
  study        Study a results table: chances, losses, shifts, chains of battles
  trials       Let automatic commanders fight a battle many times: who wins, which laws are used
  convert      Convert a board game's numbers into table distances
  local        Play a battle kept in a file, by two people or alone, without a server
  help         Show the whole program on one screen, or explain a command
  config       Show the effective settings and where each comes from
  completions  Print completions for a shell
  manual-page  Print a manual page, or write them all to a folder

Options:
  -h, --help     Print help
  -V, --version  Print version

Everywhere:
      --seat <NAME>      The kept seat to act for [else the one chosen with "seats use", else the
                         only one]
      --server <URL>     The server's address [else the seat's]
      --game <NAME>      The game, by its name or id [else the seat's]
      --key-file <FILE>  Read the key from this file, "-" for standard input [else the seat's]
      --ca-file <FILE>   Trust the certificate authorities in this file instead of the public ones
                         [else the seat's, else SSL_CERT_FILE]
      --ascii            Use letters and signs of ASCII alone
      --json             Answer in JSON
  -q, --quiet            Leave remarks out

A first game:
  fieldpost join --server https://games.example --player Ann   take your seat
  fieldpost news                                               what happened since you last looked
  fieldpost table --svg table.svg                              the table as text, and as a picture
  fieldpost try orders.txt                                     measure your orders at home
  fieldpost post orders.txt                                    post them

The whole program on one screen: fieldpost help. One command explained: fieldpost help COMMAND.

Exit codes: 0 ok, 1 failure, 2 usage, 3 orders or files not valid, 4 the server refused, 5 network,
6 a record that does not hold.

"#]])
        .stderr_eq("");
}

#[test]
fn no_command_is_a_usage_error_with_help() {
    let home = home();
    fieldpost(home.path()).assert().code(2).stdout_eq("");
}

#[test]
fn a_mistyped_command_gets_a_suggestion() {
    let home = home();
    let run = fieldpost(home.path()).arg("tabel").assert();
    run.code(2).stdout_eq("").stderr_eq(str![[r#"
error: unrecognized subcommand 'tabel'

  tip: some similar subcommands exist: 'trials', 'battles', 'table'

Usage: fieldpost [OPTIONS] <COMMAND>

For more information, try '--help'.

"#]]);
}

/// The paths of all commands, those within commands too.
fn all_commands(command: &clap::Command, path: &[String], all: &mut Vec<Vec<String>>) {
    for sub in command.get_subcommands() {
        let path = [path, &[sub.get_name().to_owned()]].concat();
        all_commands(sub, &path, all);
        all.push(path);
    }
}

#[test]
fn every_command_has_help_with_examples() {
    let home = home();
    let mut all = Vec::new();
    all_commands(&fieldpost_client::arguments::definition(), &[], &mut all);
    assert!(all.len() > 45, "{}", all.len());
    for command in all {
        let output = fieldpost(home.path())
            .args(&command)
            .arg("--help")
            .output()
            .expect("runs");
        let help = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(
            output.status.success() && help.contains("Example"),
            "{command:?}\n{help}"
        );
        // help that was asked for is no error
        assert!(output.stderr.is_empty(), "{command:?}");
    }
}

/// The same help by every way of asking for it, and the whole program on a screen.
#[test]
fn help_works_everywhere() {
    let home = home();
    let said = |args: &[&str]| {
        let output = fieldpost(home.path()).args(args).output().expect("runs");
        assert!(output.status.success(), "{args:?}");
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    for path in [
        ["table"].as_slice(),
        &["seats", "keep"],
        &["try"],
        &["words"],
        &["local"],
    ] {
        let wanted = said(&[path, &["--help"]].concat());
        assert_eq!(said(&[&["help"], path].concat()), wanted);
        assert_eq!(said(&[path, &["help"]].concat()), wanted);
    }
    let overview = said(&["help"]);
    assert!(
        overview.lines().count() <= 32 && overview.contains("starter"),
        "{overview}"
    );
    let unknown = fieldpost(home.path()).args(["help", "tabel"]).assert();
    unknown.code(2);
}

#[test]
fn every_command_has_its_manual_page() {
    let home = home();
    let mut all = Vec::new();
    all_commands(&fieldpost_client::arguments::definition(), &[], &mut all);
    fieldpost(home.path())
        .args(["manual-page", "--folder", "man", "--quiet"])
        .assert()
        .success()
        .stderr_eq("");
    let read = |name: &str| {
        let path = home.path().join("man").join(format!("{name}.1"));
        std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{name}: {error}"))
    };
    let whole = read("fieldpost");
    assert!(whole.contains(".TH") && whole.contains("Exit codes"));
    for command in &all {
        let page = read(&format!("fieldpost-{}", command.join("-")));
        assert!(
            page.contains(".TH") && page.contains("Example"),
            "{command:?}"
        );
        let shown = fieldpost(home.path())
            .arg("manual-page")
            .args(command)
            .output()
            .expect("runs");
        assert_eq!(String::from_utf8_lossy(&shown.stdout), page, "{command:?}");
    }
    let pages = std::fs::read_dir(home.path().join("man"))
        .expect("a folder")
        .count();
    assert_eq!(pages, all.len() + 1);
    fieldpost(home.path())
        .args(["manual-page", "tabel"])
        .assert()
        .code(2);
}

#[test]
fn without_a_seat_the_player_is_told_how_to_get_one() {
    let home = home();
    let run = fieldpost(home.path()).arg("news").assert();
    run.code(2).stdout_eq("").stderr_eq(str![[r#"
fieldpost: which server? Name it with --server URL, or take a seat first: fieldpost join

"#]]);
}

#[test]
fn an_unknown_seat_is_named() {
    let home = home();
    let run = fieldpost(home.path())
        .args(["news", "--seat", "nowhere"])
        .assert();
    run.code(2).stdout_eq("").stderr_eq(str![[r#"
fieldpost: no seat is called "nowhere"; none is kept here yet

"#]]);
}

#[test]
fn a_server_that_is_not_there_is_a_network_failure() {
    let home = home();
    // port 9 of this machine: nothing listens there
    let run = fieldpost(home.path())
        .args(["games", "--server", "http://127.0.0.1:9"])
        .assert();
    run.code(5).stdout_eq("");
}

#[test]
fn an_address_that_is_none_is_a_usage_error() {
    let home = home();
    let run = fieldpost(home.path())
        .args(["games", "--server", "games.example"])
        .assert();
    run.code(2).stderr_eq(str![[r#"
fieldpost: "games.example" is not a server's address; it looks like https://games.example or http://127.0.0.1:7878

"#]]);
}

#[test]
fn keys_are_hidden_in_the_settings() {
    let home = home();
    let run = fieldpost(home.path())
        .env("FIELDPOST_KEY", "abcd.efgh")
        .env("FIELDPOST_GAME", "0192f0c1e8a07b3c9d4e5f6071829304")
        .args(["config", "--server", "https://games.example"])
        .assert()
        .success();
    let shown = String::from_utf8_lossy(&run.get_output().stdout).into_owned();
    assert!(
        shown.contains("(hidden)") && !shown.contains("efgh"),
        "{shown}"
    );
    assert!(
        shown.contains("environment, FIELDPOST_GAME") && shown.contains("flag --server"),
        "{shown}"
    );
}

#[test]
fn every_setting_is_explained() {
    let home = home();
    let run = fieldpost(home.path()).args(["config"]).assert().success();
    run.stdout_eq(str![[r#"
SETTING         VALUE[..]FROM
seat            none
server          none
game            none
key             none
authorities     none
seats and keys  [..]
...
A flag counts before the environment, and that before the file of seats.
  seat            who you act for: --seat, FIELDPOST_SEAT, "seats use"; one for every game and server
  server          where games are kept: --server, FIELDPOST_SERVER, else the seat's
  game            which game, by name or id: --game, FIELDPOST_GAME, else the seat's
  key             what proves who you are: --key-file, FIELDPOST_KEY_FILE, FIELDPOST_KEY, else the seat's; never shown
  authorities     who signs the certificates of servers: --ca-file, else the seat's, else SSL_CERT_FILE, else the public ones
  seats and keys  where seats are kept: the folder in FIELDPOST_CONFIG_DIR
  records         where games seen are kept: the folder in FIELDPOST_DATA_DIR

"#]]);
}

/// Reads need no seat, server or terminal when the game is a shipped battle.
#[test]
fn a_battle_at_its_opening_can_be_seen_printed_and_laid_out() {
    let home = home();
    let run = |line: &str| {
        let output = fieldpost(home.path())
            .args(line.split(' '))
            .output()
            .expect("runs");
        let (said, told) = (
            String::from_utf8_lossy(&output.stdout).into_owned(),
            String::from_utf8_lossy(&output.stderr).into_owned(),
        );
        (output.status.code(), said, told)
    };
    let (code, said, _) = run("table --battle quern-bridge --around Quern --within 15 --width 80");
    assert_eq!(code, Some(0));
    assert!(
        said.contains(" cm") && said.contains(" in") && said.contains('⌂'),
        "{said}"
    );
    let (code, _, told) = run("table --battle quern-bridge --around Nowhere");
    assert_eq!(code, Some(3), "{told}");
    assert!(told.contains("Long Hanger"), "{told}");
    for wrong in [
        "table --battle quern-bridge --part 40,20,30,60",
        "table --battle quern-bridge --part 40,20,x,60",
        "table --battle quern-bridge --around Quern --within 0",
        "table --battle quern-bridge --at 3",
        "table --battle quern-bridge --since 0",
        "table --battle quern-bridge --show",
        "table --battle nowhere",
        "print a.pdf --battle quern-bridge --margin 2",
        "print a.pdf --battle quern-bridge --overlap 200",
        "replay --battle quern-bridge --page a.html",
        "table --battle quern-bridge --svg - --json",
        "replay --battle quern-bridge",
    ] {
        let (code, said, told) = run(wrong);
        assert_eq!((code, said.as_str()), (Some(2), ""), "{wrong}: {told}");
        assert!(!told.is_empty(), "{wrong}");
    }
    let on_paper = |way: &str| {
        let line = format!("print ground.pdf --battle quern-bridge --orientation {way} --json");
        let (code, said, told) = run(&line);
        assert_eq!(code, Some(0), "{told}");
        let printed: serde_json::Value = serde_json::from_str(&said).expect("JSON");
        printed["page_mm"].clone()
    };
    assert_eq!(on_paper("portrait"), serde_json::json!([210.0, 297.0]));
    assert_eq!(on_paper("landscape"), serde_json::json!([297.0, 210.0]));
    let (code, said, _) = run("print ground.pdf --battle quern-bridge --paper letter --json");
    assert_eq!(code, Some(0));
    let printed: serde_json::Value = serde_json::from_str(&said).expect("JSON");
    assert_eq!(printed["paper"], "Letter");
    let file = std::fs::read(home.path().join("ground.pdf")).expect("printed");
    assert!(file.starts_with(b"%PDF-1."));
    let (code, said, _) = run("table --battle quern-bridge --show=blocks");
    assert_eq!(code, Some(0));
    assert!(said.contains('▀') && said.ends_with("\u{1b}[0m\n"));
}

#[test]
fn a_unit_is_read_back_off_a_real_table() {
    let home = home();
    let run = |line: &str| {
        let words: Vec<String> = line.split(' ').map(|word| word.replace('_', " ")).collect();
        let output = fieldpost(home.path()).args(words).output().expect("runs");
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        (output.status.code(), said, told)
    };
    // Second Vale Foot's front is 120 mm wide, its middle 470 mm from the west and 190 mm from the south
    let (code, said, _) = run("placed R2 41 19 53 19 --battle quern-bridge --json");
    assert_eq!(code, Some(0));
    let read: serde_json::Value = serde_json::from_str(&said).expect("JSON");
    assert_eq!(read["units"][0]["reading"]["is_within_tolerance"], true);
    assert_eq!(read["units"][0]["unit"], "red-2");
    let (_, said, _) = run("placed R2 43 19 55 19 --battle quern-bridge --read-to 1 --json");
    let read: serde_json::Value = serde_json::from_str(&said).expect("JSON");
    assert_eq!(read["units"][0]["reading"]["is_within_tolerance"], false);
    let off = read["units"][0]["reading"]["off_mm"]
        .as_f64()
        .expect("a number");
    assert!((off - 20.0).abs() < 1e-6, "{off}");
    // the exit code tells whether it stands as recorded
    let code = |line: &str| run(&format!("placed R2 {line} --battle quern-bridge")).0;
    assert_eq!(code("43 19 55 19 --read-to 1"), Some(6));
    assert_eq!(code("41 19 53 19 --read-to 1"), Some(0));
    // 5 mm off is what the placing sheet's rounding can make of it, however finely it is read; an exact pose is not
    assert_eq!(code("41.5 19 53.5 19 --read-to 1"), Some(0));
    assert_eq!(code("41.5 19 53.5 19 --read-to 1 --placed-to 0"), Some(6));
    let (code, said, _) = run(
        "placed R2 16_1/4 7.5 20_3/4 7½ --tape inches --from south_and_west --battle quern-bridge",
    );
    assert_eq!(code, Some(0));
    assert!(said.contains("R2 Second Vale Foot"), "{said}");
    let (code, _, told) = run("placed R2 41 19 53 north --battle quern-bridge");
    assert_eq!(code, Some(3));
    assert!(
        told.contains("a length") && told.contains("nothing was read back"),
        "{told}"
    );
    assert_eq!(run("placed R2 41 19 53 --battle quern-bridge").0, Some(2));
    assert_eq!(run("placed R2 --battle quern-bridge").0, Some(2));
}

#[test]
fn starters_are_sound() {
    let home = home();
    for kind in ["ruleset", "scenario"] {
        let output = fieldpost(home.path())
            .args(["starter", kind])
            .output()
            .expect("runs");
        std::fs::write(home.path().join(format!("{kind}.toml")), output.stdout).expect("written");
    }
    let run = fieldpost(home.path())
        .args(["check", "ruleset.toml", "scenario.toml"])
        .assert();
    run.success().stderr_eq("").stdout_eq(str![[r#"
ruleset.toml: the ruleset "My rules" is sound
scenario.toml: the scenario "My battle" is sound

"#]]);
}

/// A sound file that hardly means what it says is sound, and is remarked on.
#[test]
fn likely_mistakes_are_remarked_on() {
    let home = home();
    let starter = fieldpost(home.path()).args(["starter", "ruleset"]).output();
    let text = String::from_utf8(starter.expect("runs").stdout).expect("text");
    let text = text.replace("strike_zone = 1 ", "strike_zone = 0 ");
    std::fs::write(home.path().join("rules.toml"), text).expect("written");
    let check = |more: &str| {
        let command = fieldpost(home.path()).args(["check", "rules.toml", more]);
        command.output().expect("runs")
    };
    let data = check("--json");
    assert!(data.status.success());
    let data: serde_json::Value = serde_json::from_slice(&data.stdout).expect("JSON");
    assert_eq!(data["sound"][0]["file"], "rules.toml");
    assert_eq!(data["remarks"][0]["path"], "zones.strike_zone");
    let quiet = check("--quiet");
    assert!(quiet.status.success() && quiet.stderr.is_empty());
    let run = fieldpost(home.path())
        .args(["check", "rules.toml"])
        .assert();
    run.success()
        .stdout_eq(str![[r#"
rules.toml: the ruleset "My rules" is sound

"#]])
        .stderr_eq(str![[r#"
remark: units halt 20.0 mm from an enemy and strike 0.0 mm far: they will stand in halt zones without a way to fight
[..]
...
"#]]);
}

#[test]
fn every_fault_of_a_file_is_shown_at_once() {
    let home = home();
    std::fs::write(
        home.path().join("bad.toml"),
        "format = 1\nname = 3\n[scale]\nbase_width = 40\n[zones]\nhalt_zone = \"much\"\n",
    )
    .expect("written");
    let run = fieldpost(home.path()).args(["check", "bad.toml"]).assert();
    run.code(3).stdout_eq("").stderr_eq(str![[r#"
error: the file has no "results"
 --> bad.toml:1:1
  |
1 | format = 1
  | ^
  |
  = help: add results, a table: The results table

error: the file has no "troops"
 --> bad.toml:1:1
  |
1 | format = 1
  | ^
  |
  = help: add troops, a table: Troop types, by name

error: name takes text in quotes, not a whole number
 --> bad.toml:2:8
  |
2 | name = 3
  |        ^ name
  |
  = help: name means: What the rules are called

error: scale has no "base_width_mm"
 --> bad.toml:3:1
  |
3 | [scale]
  | ^^^^^^^ scale
  |
  = help: add base_width_mm, a number from 1 to 1000: Width of one base in millimetres; the whole game scales with it

error: there is no setting "base_width" here
 --> bad.toml:4:1
  |
4 | base_width = 40
  | ^^^^^^^^^^ scale.base_width
  |
  = help: did you mean "base_width_mm"?

error: "much" is not a length
 --> bad.toml:6:13
  |
6 | halt_zone = "much"
  |             ^^^^^^ zones.halt_zone
  |
  = help: write a number, or a number with mm, cm, in, ft, bw or MP, such as "40 mm"

6 faults

"#]]);
}

#[test]
fn a_scenario_needs_its_ruleset() {
    let home = home();
    let output = fieldpost(home.path())
        .args(["starter", "scenario"])
        .output()
        .expect("runs");
    std::fs::write(home.path().join("battle.toml"), output.stdout).expect("written");
    let run = fieldpost(home.path())
        .args(["check", "battle.toml"])
        .assert();
    run.code(2).stderr_eq(str![[r#"
fieldpost: battle.toml is a scenario: name the ruleset that it is for before it

"#]]);
}

#[test]
fn a_setting_is_explained() {
    let home = home();
    let run = fieldpost(home.path())
        .args(["settings", "halt_zone"])
        .assert();
    run.success().stderr_eq("").stdout_eq(str![[r#"
A ruleset file

zones.halt_zone  a number of base widths, or a length such as "40 mm" [0.5]
    Depth of the halt zone round a unit with strength, in base widths.

"#]]);
    for (word, told) in [
        (
            "results.row[].throw",
            "throw  a number, or two in a list such as [2, 4] (required)",
        ),
        (
            "movement.about",
            "about  a number of movement points, or a length such as \"40 mm\" [1]",
        ),
        (
            "table.width_mm",
            "width_mm  a number from 50 to 20000 (mm) (required)",
        ),
        ("objective[].at", "at  a list of 2"),
        ("unit[].name", "text in quotes, 1 to 60 characters"),
        ("unit[].id", "up to 24 letters"),
        ("base_depth", "at least 1 mm"),
    ] {
        let output = fieldpost(home.path()).args(["settings", word]).output();
        let text = String::from_utf8(output.expect("runs").stdout).expect("text");
        assert!(text.contains(told), "{word}: {text}");
    }
    let run = fieldpost(home.path()).args(["settings", "xyzzy"]).assert();
    run.code(2).stdout_eq("");
}

#[test]
fn completions_and_the_manual_page_are_printed() {
    let home = home();
    for (args, mark) in [
        (["completions", "bash"].as_slice(), "_fieldpost"),
        (["completions", "fish"].as_slice(), "complete -c fieldpost"),
        (["completions", "powershell"].as_slice(), "fieldpost"),
        (["manual-page"].as_slice(), ".TH"),
        (["words"].as_slice(), "# Writing a turn sheet"),
    ] {
        let output = fieldpost(home.path()).args(args).output().expect("runs");
        assert!(output.status.success());
        assert!(
            String::from_utf8_lossy(&output.stdout).contains(mark),
            "{args:?}"
        );
    }
}

#[test]
fn schemas_are_json() {
    let home = home();
    for kind in ["ruleset", "scenario"] {
        let output = fieldpost(home.path())
            .args(["schema", kind])
            .output()
            .expect("runs");
        let schema: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
        assert!(schema.get("properties").is_some());
    }
}
