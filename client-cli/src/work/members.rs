//! `members`: the club's members and their keys, for the organiser.

use std::path::Path;

use serde_json::json;
use ureq::http::Method;

use super::columns;
use crate::failure::Outcome;
use crate::keep::files;
use crate::meant::{Meant, must_be_id};
use crate::office::{Ask, Office};
use crate::out::Out;
use crate::typed::{Common, MemberRole, MembersArgs, MembersCommand};
use crate::wire::{AddedMember, MemberSummary, Members};

/// Lists, adds, changes or removes members.
///
/// # Errors
/// When the server refuses.
pub fn members(args: &MembersArgs, common: &Common, out: Out) -> Outcome {
    let office = Meant::by(common)?.office(out)?;
    match &args.command {
        None | Some(MembersCommand::List) => list(&office, out),
        Some(MembersCommand::Add {
            name,
            role,
            out: file,
        }) => {
            let body = json!({ "name": name, "role": word(*role) }).to_string();
            let ask = Ask::send(Method::POST, "/v1/members", body.as_bytes());
            hand_over(&office, &ask, file.as_deref(), out)
        }
        Some(MembersCommand::Rekey { member, out: file }) => {
            let path = format!("{}/key", path_of(member)?);
            hand_over(
                &office,
                &Ask::send(Method::POST, path, b""),
                file.as_deref(),
                out,
            )
        }
        Some(MembersCommand::Role { member, role }) => change_role(&office, member, *role, out),
        Some(MembersCommand::Remove { member }) => {
            let ask = Ask::send(Method::DELETE, path_of(member)?, b"");
            office.ask(&ask)?.accepted()?;
            out.remark(
                "removed; their seats can be freed and given to others: fieldpost seating free",
            );
            Ok(())
        }
    }
}

fn list(office: &Office, out: Out) -> Outcome {
    let members: Members = office.get("/v1/members")?;
    out.result(&members, || {
        if members.members.is_empty() {
            return "The club has no members yet. Add one: fieldpost members add NAME".to_owned();
        }
        let rows = members.members.iter().map(|member| {
            let since = member.joined_at.get(..10).unwrap_or_default();
            [
                member.id.clone(),
                member.name.clone(),
                member.role.to_string(),
                since.to_owned(),
            ]
        });
        columns(["id", "name", "role", "since"], rows.collect())
    })
}

fn change_role(office: &Office, member: &str, role: MemberRole, out: Out) -> Outcome {
    let body = json!({ "role": word(role) }).to_string();
    let ask = Ask::send(Method::PATCH, path_of(member)?, body.as_bytes());
    let member: MemberSummary = office.ask(&ask)?.accepted()?.json()?;
    out.result(&member, || {
        format!("{} is {} now.", member.name, member.role)
    })
}

/// Asks for a key and writes it to its file, or shows it.
fn hand_over(office: &Office, ask: &Ask<'_>, file: Option<&Path>, out: Out) -> Outcome {
    let added: AddedMember = office.ask(ask)?.accepted()?.json()?;
    if let Some(path) = file {
        files::write_private(path, format!("{}\n", added.key).as_bytes())?;
        return out.result(&json!({ "member": added.member, "file": path }), || {
            format!(
                "The key of {} (id {}) is in {}, for your eyes only; hand it over.",
                added.member.name,
                added.member.id,
                path.display()
            )
        });
    }
    out.result(&added, || {
        format!(
            "The key of {} (id {}), shown this once:\n  {}\nThey run: fieldpost seats keep club --server {}\nand then:  fieldpost seats renew club",
            added.member.name,
            added.member.id,
            added.key,
            office.base()
        )
    })
}

fn path_of(member: &str) -> Outcome<String> {
    must_be_id(member, "member", "fieldpost members")?;
    Ok(format!("/v1/members/{member}"))
}

fn word(role: MemberRole) -> &'static str {
    match role {
        MemberRole::Organiser => "organiser",
        MemberRole::Member => "member",
    }
}
