//! Measuring beside the requests.

use super::ServiceResult;

/// Measures on a thread of its own, so that nobody waits for another's sheet.
pub(super) async fn measure<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> ServiceResult<T> {
    Ok(tokio::task::spawn_blocking(work).await?)
}
