//! `members`: the club's members and their keys, for the organiser.

use std::path::Path;

use serde_json::json;
use ureq::http::Method;

use super::columns;
use crate::api::{ApiClient, ApiRequest};
use crate::arguments::{CommonArgs, MemberRole, MembersArgs, MembersCommand};
use crate::context::{Context, require_id};
use crate::error::CliResult;
use crate::output::Output;
use crate::storage::files;
use crate::wire::{AddedMember, MemberSummary, Members};

/// Lists, adds, changes or removes members.
///
/// # Errors
/// When the server refuses.
pub fn members(args: &MembersArgs, common: &CommonArgs, output: Output) -> CliResult {
    let client = Context::load(common)?.connect(output)?;
    match &args.command {
        None | Some(MembersCommand::List) => list(&client, output),
        Some(MembersCommand::Add {
            name,
            role,
            out: file,
        }) => {
            let body = json!({ "name": name, "role": word(*role) }).to_string();
            let request = ApiRequest::send(Method::POST, "/v1/members", body.as_bytes());
            hand_over(&client, &request, file.as_deref(), output)
        }
        Some(MembersCommand::Rekey { member, out: file }) => {
            let path = format!("{}/key", path_of(member)?);
            hand_over(
                &client,
                &ApiRequest::send(Method::POST, path, b""),
                file.as_deref(),
                output,
            )
        }
        Some(MembersCommand::Role { member, role }) => change_role(&client, member, *role, output),
        Some(MembersCommand::Remove { member }) => {
            let request = ApiRequest::send(Method::DELETE, path_of(member)?, b"");
            client.send(&request)?.success()?;
            output.info(
                "removed; their seats can be freed and given to others: fieldpost seating free",
            );
            Ok(())
        }
    }
}

fn list(client: &ApiClient, output: Output) -> CliResult {
    let members: Members = client.get("/v1/members")?;
    output.result(&members, || {
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

fn change_role(client: &ApiClient, member: &str, role: MemberRole, output: Output) -> CliResult {
    let body = json!({ "role": word(role) }).to_string();
    let request = ApiRequest::send(Method::PATCH, path_of(member)?, body.as_bytes());
    let member: MemberSummary = client.send(&request)?.success()?.json()?;
    output.result(&member, || {
        format!("{} is {} now.", member.name, member.role)
    })
}

/// Asks for a key and writes it to its file, or shows it.
fn hand_over(
    client: &ApiClient,
    request: &ApiRequest<'_>,
    file: Option<&Path>,
    output: Output,
) -> CliResult {
    let added: AddedMember = client.send(request)?.success()?.json()?;
    if let Some(path) = file {
        files::write_private(path, format!("{}\n", added.key).as_bytes())?;
        return output.result(&json!({ "member": added.member, "file": path }), || {
            format!(
                "The key of {} (id {}) is in {}, for your eyes only; hand it over.",
                added.member.name,
                added.member.id,
                path.display()
            )
        });
    }
    output.result(&added, || {
        format!(
            "The key of {} (id {}), shown this once:\n  {}\nThey run: fieldpost seats keep club --server {}\nand then:  fieldpost seats renew club",
            added.member.name,
            added.member.id,
            added.key,
            client.base()
        )
    })
}

fn path_of(member: &str) -> CliResult<String> {
    require_id(member, "member", "fieldpost members")?;
    Ok(format!("/v1/members/{member}"))
}

fn word(role: MemberRole) -> &'static str {
    match role {
        MemberRole::Organiser => "organiser",
        MemberRole::Member => "member",
    }
}
