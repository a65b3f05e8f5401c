//! Members of the club: the organiser's.

use axum::Json;
use axum::extract::{FromRequestParts, State};
use axum::http::StatusCode;
use axum::http::request::Parts;
use serde::Deserialize;

use crate::service::Credentials;
use crate::service::ServiceError;
use crate::store::MemberId;
use fieldpost_wire as wire;

use super::app::App;
use super::body::{SMALL, StrictJson};
use super::error::{ApiError, ApiResult};
use super::extract::InPath;
use super::routes::{Operation, Routes, json};

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
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> ApiResult<Self> {
        #[derive(Deserialize)]
        struct Member {
            member: String,
        }
        let InPath(Member { member }) = InPath::from_request_parts(parts, app).await?;
        let member = member.parse().map_err(|_| ServiceError::NoSuchMember)?;
        Ok(Self(member))
    }
}

async fn list(State(app): State<App>, credentials: Credentials) -> ApiResult<Json<wire::Members>> {
    let caller = app.service.authenticate(&credentials, None).await?;
    Ok(Json(app.service.members(&caller).await?))
}

async fn add(
    State(app): State<App>,
    credentials: Credentials,
    StrictJson(requested): StrictJson<wire::AddMember, SMALL>,
) -> ApiResult<(StatusCode, Json<wire::AddedMember>)> {
    let caller = app.service.authenticate(&credentials, None).await?;
    let added = app.service.add_member(&caller, &requested).await?;
    Ok((StatusCode::CREATED, Json(added)))
}

async fn change(
    State(app): State<App>,
    credentials: Credentials,
    OfMember(member): OfMember,
    StrictJson(requested): StrictJson<wire::ChangeMember, SMALL>,
) -> ApiResult<Json<wire::MemberSummary>> {
    let caller = app.service.authenticate(&credentials, None).await?;
    Ok(Json(
        app.service
            .change_member(&caller, member, &requested)
            .await?,
    ))
}

async fn remove(
    State(app): State<App>,
    credentials: Credentials,
    OfMember(member): OfMember,
) -> ApiResult<StatusCode> {
    let caller = app.service.authenticate(&credentials, None).await?;
    app.service.remove_member(&caller, member).await?;
    Ok(StatusCode::NO_CONTENT)
}

async fn rekey(
    State(app): State<App>,
    credentials: Credentials,
    OfMember(member): OfMember,
) -> ApiResult<(StatusCode, Json<wire::AddedMember>)> {
    let caller = app.service.authenticate(&credentials, None).await?;
    let added = app.service.rekey_member(&caller, member).await?;
    Ok((StatusCode::CREATED, Json(added)))
}
