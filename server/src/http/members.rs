//! Members of the club: the organiser's.

use axum::Json;
use axum::extract::{FromRequestParts, State};
use axum::http::StatusCode;
use axum::http::request::Parts;
use serde::Deserialize;

use crate::office::Failure;
use crate::store::MemberId;
use fieldpost_wire as wire;

use super::asked::{By, Named};
use super::body::{SMALL, StrictJson};
use super::problem::{Answer, Rejection};
use super::routes::{Operation, Routes, json};
use super::{App, finish};

pub(super) fn routes() -> Routes {
    Routes::default()
        .with(
            Operation::get(
                "/v1/members",
                "list_members",
                "The members of the club, by name: the organiser's.",
            )
            .answers(200, "The members", &[json::<wire::Members>()]),
            list,
        )
        .with(
            Operation::post(
                "/v1/members",
                "add_member",
                "Adds a member with a key of their own: the organiser's.",
            )
            .takes(json::<wire::AddMember>())
            .answers(201, "The member and their key, shown this once", &[json::<wire::AddedMember>()]),
            add,
        )
        .with(
            Operation::patch(
                "/v1/members/{member}",
                "change_member",
                "Gives a member another name or role: the organiser's.",
            )
            .takes(json::<wire::ChangeMember>())
            .answers(200, "The member", &[json::<wire::MemberSummary>()]),
            change,
        )
        .with(
            Operation::delete(
                "/v1/members/{member}",
                "remove_member",
                "Removes a member; their keys and those of the seats they took open nothing from then on: the organiser's.",
            )
            .answers(204, "Removed", &[]),
            remove,
        )
        .with(
            Operation::post(
                "/v1/members/{member}/key",
                "rekey_member",
                "Gives a member another key; those they had open nothing from then on: the organiser's.",
            )
            .answers(201, "The member and their key, shown this once", &[json::<wire::AddedMember>()]),
            rekey,
        )
}

/// The member that the path names.
struct OfMember(MemberId);

impl FromRequestParts<App> for OfMember {
    type Rejection = Rejection;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Answer<Self> {
        #[derive(Deserialize)]
        struct Member {
            member: String,
        }
        let Named(Member { member }) = Named::from_request_parts(parts, app).await?;
        let member = member.parse().map_err(|_| Failure::NoSuchMember)?;
        Ok(Self(member))
    }
}

async fn list(State(app): State<App>, By(caller): By) -> Answer<Json<wire::Members>> {
    Ok(Json(app.office.members(&caller).await?))
}

async fn add(
    State(app): State<App>,
    By(caller): By,
    StrictJson(asked): StrictJson<wire::AddMember, SMALL>,
) -> Answer<(StatusCode, Json<wire::AddedMember>)> {
    let added = finish(async move { app.office.add_member(&caller, &asked).await }).await?;
    Ok((StatusCode::CREATED, Json(added)))
}

async fn change(
    State(app): State<App>,
    By(caller): By,
    OfMember(member): OfMember,
    StrictJson(asked): StrictJson<wire::ChangeMember, SMALL>,
) -> Answer<Json<wire::MemberSummary>> {
    let change = async move { app.office.change_member(&caller, member, &asked).await };
    Ok(Json(finish(change).await?))
}

async fn remove(
    State(app): State<App>,
    By(caller): By,
    OfMember(member): OfMember,
) -> Answer<StatusCode> {
    finish(async move { app.office.remove_member(&caller, member).await }).await?;
    Ok(StatusCode::NO_CONTENT)
}

async fn rekey(
    State(app): State<App>,
    By(caller): By,
    OfMember(member): OfMember,
) -> Answer<(StatusCode, Json<wire::AddedMember>)> {
    let added = finish(async move { app.office.rekey_member(&caller, member).await }).await?;
    Ok((StatusCode::CREATED, Json(added)))
}
