//! stub
use clap::Args;
/// x
#[derive(Debug, Args)]
pub struct CheckArgs {}
pub(super) fn run(_: &CheckArgs) -> miette::Result<()> {
    Ok(())
}
