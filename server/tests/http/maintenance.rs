//! `backup`, `restore`, `move` and `check`.

use serde_json::{Value, json};
use sqlx::{AssertSqlSafe, Connection};

use crate::host::{Battle, Host, ON_POSTGRES, Place, forward, from_anywhere, run_on, sheet};

/// A battle in which red has posted.
fn begun(host: &Host) -> Battle {
    let battle = host.battle();
    let orders = json!([forward("red-1", 40.0)]);
    host.post(&battle, &battle.red, &sheet(1, "red", orders))
        .expect(201);
    battle
}

/// All that a player sees of it, and its record.
fn seen(host: &Host, battle: &Battle) -> (Value, String) {
    let table = host
        .ask("GET", &battle.path("table"))
        .key(&battle.blue)
        .send();
    let record = host
        .ask("GET", &battle.path("record"))
        .key(&battle.blue)
        .send();
    (table.expect(200), record.text)
}

#[test]
fn a_backup_made_while_it_serves_is_restored_into_either_database() {
    let host = Host::start();
    let battle = begun(&host);
    let before = seen(&host, &battle);
    let file = host.folder.path().join("copy.db").display().to_string();
    let (code, said) = host.run(&["backup", &file]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("1 game with 5 entries"), "{said}");
    let (code, said) = host.run(&["backup", &file]);
    assert!(code == 1 && said.contains("is there already"), "{said}");
    // What comes after it is not in it.
    host.post(&battle, &battle.blue, &sheet(1, "blue", json!([])))
        .expect(201);
    for on_postgres in [false, true] {
        let Some(place) = Place::fresh(on_postgres) else {
            continue;
        };
        let restore = || run_on(place.folder.path(), &place.url, &["restore", &file]);
        // A copy is made of it, and not where it lies.
        let beside = format!("{file}.partial");
        std::fs::create_dir_all(&beside).expect("a folder");
        let (code, said) = restore();
        assert_eq!(code, 0, "{said}");
        std::fs::remove_dir(&beside).expect("empty");
        let (code, said) = restore();
        assert!(
            code == 1 && said.contains("nothing is ever overwritten"),
            "{said}"
        );
        let mut restored = Host::start_in(place, None, &[]);
        // The secret of the turn to come was shown where play went on: another takes its place, for all to see.
        let renewed = seen(&restored, &battle).1;
        let last = renewed
            .strip_prefix(&before.1)
            .expect("nothing else has changed");
        assert_eq!(last.lines().count(), 1);
        let last: Value = serde_json::from_str(last).expect("an entry");
        let entry: Value =
            serde_json::from_str(last["body"].as_str().expect("text")).expect("JSON");
        let event = &entry["event"];
        assert_eq!(
            (&event["event"], &event["player_turn"], &event["attempt"]),
            (&json!("secrets-renewed"), &json!(2), &json!(2))
        );
        let played_on = host
            .ask("GET", &battle.path("record"))
            .key(&battle.blue)
            .send()
            .text;
        let closed = played_on
            .lines()
            .find(|line| line.contains("turn-closed") && line.contains("player_turn\\\":2"));
        assert!(
            closed
                .expect("it was played")
                .contains(event["secret"].as_str().expect("hex")),
            "the secret that was shown elsewhere is shown here, and not used"
        );
        // Once: the next start finds nothing to renew.
        restored.kill_and_start_again();
        assert_eq!(seen(&restored, &battle).1, renewed);
        // The keys are in it: play goes on.
        restored
            .post(&battle, &battle.blue, &sheet(1, "blue", json!([])))
            .expect(201);
        assert!(
            !restored
                .folder
                .path()
                .join("games.db.organiser-key")
                .exists()
        );
    }
    let (code, said) = host.run(&["restore", &format!("{file}.mistyped")]);
    assert!(
        code == 1 && said.contains("the backup") && said.contains("copy.db.mistyped"),
        "{said}"
    );
    let left = std::fs::read_dir(host.folder.path()).expect("a folder");
    let left = left.map(|file| file.expect("a file").file_name());
    assert!(
        left.into_iter()
            .all(|name| !name.to_string_lossy().contains("partial"))
    );
}

#[test]
fn all_games_are_moved_to_the_other_kind_of_database_once_no_server_runs() {
    let mut host = Host::start();
    let battle = begun(&host);
    let before = seen(&host, &battle);
    let Some(place) = Place::fresh(!ON_POSTGRES) else {
        return;
    };
    let url = place.url_from_anywhere();
    let (code, said) = host.run(&["move", "--to", &url]);
    assert!(
        code == 1 && said.contains("another server has the database open"),
        "{said}"
    );
    host.terminate();
    assert!(host.wait().success());
    let (code, said) = host.run(&["move", "--to", &url]);
    assert_eq!(code, 0, "{said}");
    let (code, said) = host.run(&["move", "--to", &url]);
    assert!(
        code == 1 && said.contains("nothing is ever overwritten"),
        "{said}"
    );
    let moved = Host::start_in(place, None, &[]);
    assert_eq!(seen(&moved, &battle), before);
    moved
        .post(&battle, &battle.blue, &sheet(1, "blue", json!([])))
        .expect(201);
}

/// A path that was mistyped is told of, not made and praised: by whatever reads a database.
#[test]
fn a_database_that_is_not_there_is_not_made() {
    let mut host = Host::start();
    host.kill();
    let mistyped = host.folder.path().join("gmaes.db");
    host.url = format!("sqlite:{}", mistyped.display());
    let copy = host.folder.path().join("copy.db").display().to_string();
    let moved = format!("sqlite:{}", host.folder.path().join("moved.db").display());
    for command in [
        &["check"][..],
        &["backup", &copy][..],
        &["move", "--to", &moved][..],
    ] {
        let (code, said) = host.run(command);
        assert!(code == 1 && said.contains("there is no database"), "{said}");
        let made: Vec<_> = std::fs::read_dir(host.folder.path())
            .expect("a folder")
            .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
            .filter(|name| {
                ["gmaes", "copy", "moved"]
                    .iter()
                    .any(|start| name.starts_with(start))
            })
            .collect();
        assert!(made.is_empty(), "{command:?} made {made:?}");
    }
}

#[test]
fn a_broken_chain_is_found_and_not_backed_up() {
    let mut host = Host::start();
    let battle = begun(&host);
    host.kill();
    let (code, said) = host.run(&["check"]);
    assert!(
        code == 0 && said.contains("1 game with 5 entries"),
        "{said}"
    );
    damage(
        &host,
        "UPDATE events SET body = replace(body, 'Ash', 'Asp') WHERE number = 2",
    );
    let (code, said) = host.run(&["check"]);
    let told = format!("game {}: the chain is broken at entry 2", battle.game);
    assert!(code == 1 && said.contains(&told), "{said}");
    let file = host.folder.path().join("copy.db");
    let (code, said) = host.run(&["backup", &file.display().to_string()]);
    assert!(code == 1 && said.contains(&told), "{said}");
    assert!(!file.exists());
}

fn damage(host: &Host, sql: &str) {
    let url = from_anywhere(&host.url, host.folder.path());
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    runtime.block_on(async {
        let sql = AssertSqlSafe(sql.to_owned());
        if ON_POSTGRES {
            let mut connection = sqlx::PgConnection::connect(&url).await.expect("connects");
            sqlx::raw_sql(sql)
                .execute(&mut connection)
                .await
                .expect("done");
        } else {
            let mut connection = sqlx::SqliteConnection::connect(&url)
                .await
                .expect("connects");
            sqlx::raw_sql(sql)
                .execute(&mut connection)
                .await
                .expect("done");
        }
    });
}
