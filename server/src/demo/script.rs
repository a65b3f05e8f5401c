//! What the demonstration plays: two player turns at Withy Bridge, shown as the players see them.

use std::fs;
use std::net::SocketAddr;
use std::path::Path;
use std::time::{Duration, Instant};

use fieldpost_command_line::in_plain_words;
use fieldpost_rules::orders::{Hand, Instruction, Instructions, UnitId};
use fieldpost_rules::verdict::{Code, Ruling};

use fieldpost_wire::{NewsPage, OpenGame, OpenedGame, OwnInstructions, TakeSeat, TakenSeat};

use super::client::{Answer, DemoClient};

const SCENARIO: &str = "withy-bridge";

/// Forty millimetres more than foot can pay for.
const RED_TOO_FAR: &str = "\
turn 1 red
red-1: forward 160 mm
red-2: wheel left 15°, forward 60 mm
red-guns: stand
";
const RED: &str = "\
turn 1 red
red-1: forward 120 mm
red-2: wheel left 15°, forward 60 mm
red-guns: stand
";
/// The hussars would ride on past the halt zone of the foot at the bridge.
const BLUE_TOO_NEAR: &str = "\
turn 1 blue
blue-1: forward 120 mm
blue-2: forward 200 mm
blue-1 and blue-2 attack red-1 with guns blue-guns; blue-1 follows up
";
const BLUE: &str = "\
turn 1 blue
blue-1: forward 120 mm
blue-2: forward up to 200 mm
blue-1 and blue-2 attack red-1 with guns blue-guns; blue-1 follows up
";

type DemoResult<T = ()> = Result<T, String>;

/// A seat that was taken, and what it is called here.
struct Player {
    name: &'static str,
    side: &'static str,
    client: DemoClient,
    key: String,
}

/// Plays and tells it, pictures and keys going into a folder.
pub(super) fn play(address: &SocketAddr, folder: &Path, organiser_key: &Path) -> DemoResult {
    let anybody = DemoClient::of(address);
    wait_until_ready(&anybody)?;
    let key = fs::read_to_string(organiser_key)
        .map_err(|error| format!("the organiser's key: {}", in_plain_words(&error)))?;
    heading("The organiser opens a battle and invites two players");
    let opened = open(&anybody.with_key(key.trim()))?;
    let game = opened.game.id.as_str();
    let red = seat(&anybody, &opened, "red", "Ash")?;
    let blue = seat(&anybody, &opened, "blue", "Birch")?;
    println!(
        "{} is open as game {game}; Ash plays red, Birch plays blue.",
        opened.game.name
    );

    heading("Birch seals standing instructions for the time that red moves");
    stand_by(&blue, game)?;
    println!(
        "{}",
        anybody.text(&format!("/v1/games/{game}/table.txt?width=80"))?
    );

    turn(&red, game, folder, (RED_TOO_FAR, Code::OverAllowance), RED)?;
    let after_red = anybody
        .read::<NewsPage>(&format!("/v1/games/{game}/news"))?
        .head
        .number;
    turn(&blue, game, folder, (BLUE_TOO_NEAR, Code::EnemyZone), BLUE)?;

    heading("What Ash finds in the evening");
    news(&red, game, after_red)?;
    println!(
        "\n{}",
        red.client
            .text(&format!("/v1/games/{game}/table.txt?width=80"))?
    );
    write(
        folder,
        "table.svg",
        &anybody.text(&format!("/v1/games/{game}/table.svg"))?,
    )?;
    write(
        folder,
        "record.ndjson",
        &anybody.text(&format!("/v1/games/{game}/record"))?,
    )?;

    heading("Now you");
    next_steps(&anybody, game, folder, &[red, blue])
}

fn wait_until_ready(anybody: &DemoClient) -> DemoResult {
    let began = Instant::now();
    while let Err(error) = anybody.text("/readyz") {
        if began.elapsed() > Duration::from_secs(20) {
            return Err(error);
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    Ok(())
}

fn open(organiser: &DemoClient) -> DemoResult<OpenedGame> {
    let requested = OpenGame {
        shipped: Some(SCENARIO.to_owned()),
        files: None,
        open_to_all: true,
        clock: None,
        spectator_delay_minutes: 0,
        signed: false,
    };
    organiser.send("POST", "/v1/games", &requested)
}

fn seat(
    anybody: &DemoClient,
    opened: &OpenedGame,
    side: &'static str,
    name: &'static str,
) -> DemoResult<Player> {
    let invitation = opened
        .invitations
        .iter()
        .find(|invitation| invitation.side.as_deref() == Some(side));
    let invitation = invitation.ok_or_else(|| format!("no invitation for {side}"))?;
    let requested = TakeSeat {
        invitation: invitation.invitation.clone(),
        player: name.to_owned(),
        zone: None,
        key: None,
    };
    let taken: TakenSeat = anybody.send("POST", "/v1/seats", &requested)?;
    Ok(Player {
        name,
        side,
        client: anybody.with_key(&taken.key),
        key: taken.key,
    })
}

fn stand_by(player: &Player, game: &str) -> DemoResult {
    let left = Instruction {
        follow_up: false,
        give_way: Some(Hand::Left),
    };
    let instructions = Instructions {
        units: [(UnitId::from("blue-1"), left)].into(),
        ..Instructions::default()
    };
    let path = format!("/v1/games/{game}/instructions");
    let own: OwnInstructions = player.client.send("PUT", &path, &instructions)?;
    println!(
        "The record holds only their seal: {}",
        own.seal.unwrap_or_default()
    );
    Ok(())
}

/// A player turn: a sheet that is refused for a certain reason, and its mending.
fn turn(player: &Player, game: &str, folder: &Path, bad: (&str, Code), mended: &str) -> DemoResult {
    let Player {
        name, side, client, ..
    } = player;
    heading(&format!("{name} writes a turn sheet for {side}"));
    println!("{}", bad.0);
    let checked = client.check(game, bad.0)?;
    let order = checked
        .verdict
        .moves
        .iter()
        .find(|moved| moved.verdict == Ruling::Refused);
    let order = order
        .map(|moved| moved.order)
        .ok_or("the sheet was to be refused for a move")?;
    let refused = match client.post(game, &checked.head, checked.sheet)? {
        Answer::Refused(refused) => refused,
        Answer::Accepted(_) => return Err("a sheet that was to be refused was accepted".to_owned()),
    };
    if !refused
        .verdict
        .all_reasons()
        .any(|reason| reason.code() == bad.1)
    {
        return Err(format!(
            "not refused for {}: {}",
            bad.1.as_str(),
            refused.words
        ));
    }
    println!(
        "The referee refuses it; nothing has happened.\n\n{}",
        refused.words
    );
    write(
        folder,
        &format!("{side}-refused.svg"),
        &client.drawn(game, bad.0, order)?,
    )?;

    heading(&format!("{name} mends it"));
    println!("{mended}");
    let checked = client.check(game, mended)?;
    let accepted = match client.post(game, &checked.head, checked.sheet)? {
        Answer::Accepted(accepted) => accepted,
        Answer::Refused(refused) => {
            return Err(format!("the mended sheet was refused:\n{}", refused.words));
        }
    };
    println!(
        "Accepted, as events {} to {}.\n",
        accepted.first, accepted.head.number
    );
    for item in accepted.news.iter().filter(|item| !item.words.is_empty()) {
        println!("{}", item.words);
    }
    write(
        folder,
        &format!("{side}-accepted.svg"),
        &client.text(&format!("/v1/games/{game}/table.svg"))?,
    )
}

fn news(player: &Player, game: &str, after: u64) -> DemoResult {
    let page: NewsPage = player
        .client
        .read(&format!("/v1/games/{game}/news?after={after}"))?;
    for item in page.news.iter().filter(|item| !item.words.is_empty()) {
        println!("{:>4}  {}", item.number, item.words);
    }
    Ok(())
}

fn next_steps(anybody: &DemoClient, game: &str, folder: &Path, players: &[Player]) -> DemoResult {
    let base = anybody.base();
    println!(
        "It is red's turn again. Both seats are yours; their keys, and commands to go on with:\n"
    );
    for player in players {
        let file = format!("{}.key", player.side);
        crate::organiser_key::write_private(&folder.join(&file), &player.key)
            .map_err(|error| format!("{file} cannot be written: {}", in_plain_words(&error)))?;
        println!("  {:<5} {}", player.side, player.key);
    }
    let shown = folder.display();
    println!(
        "\n  fieldpost seats keep red --server {base} --game {game} --key-file {shown}/red.key"
    );
    println!(
        "  fieldpost seats keep blue --server {base} --game {game} --key-file {shown}/blue.key"
    );
    println!("  fieldpost news --all --seat red");
    println!("  fieldpost table --seat red");
    println!("  echo 'red-2: forward up to 240 mm' | fieldpost try - --seat red");
    println!("  curl {base}/v1/games/{game}/table.txt\n");
    println!("The table is drawn in {shown}/table.svg, the refusals beside it.");
    println!(
        "Keys open everything their seats may do: these are for playing here, not for a game that matters."
    );
    Ok(())
}

fn write(folder: &Path, name: &str, text: &str) -> DemoResult {
    let path = folder.join(name);
    fs::write(&path, text).map_err(|error| {
        let why = in_plain_words(&error);
        format!("{} cannot be written: {why}", path.display())
    })
}

fn heading(words: &str) {
    println!("\n── {words} ──\n");
}
