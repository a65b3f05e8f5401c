//! Manual pages, made from the definition of a command line.

use std::io;
use std::path::Path;

/// The manual page of a command, in roff.
///
/// # Errors
/// Never, in practice: it is written to memory.
pub fn manual_page(command: &clap::Command) -> io::Result<Vec<u8>> {
    let mut text = Vec::new();
    clap_mangen::Man::new(command.clone()).render(&mut text)?;
    Ok(text)
}

/// Writes the page of a built definition and those of the commands within it to a folder, which is made if need be; how
/// many they are. `fieldpost seats keep` goes to `fieldpost-seats-keep.1`.
///
/// # Errors
/// When the folder or a page cannot be written.
pub fn write_manual_pages(command: &clap::Command, folder: &Path) -> io::Result<usize> {
    std::fs::create_dir_all(folder)?;
    let name = command
        .get_display_name()
        .unwrap_or_else(|| command.get_name());
    std::fs::write(folder.join(format!("{name}.1")), manual_page(command)?)?;
    let mut count = 1;
    // The parser's own command for help needs no page; a program's own has one.
    let has_own_help = command.is_disable_help_subcommand_set();
    for sub in command
        .get_subcommands()
        .filter(|sub| has_own_help || sub.get_name() != "help")
    {
        count += write_manual_pages(sub, folder)?;
    }
    Ok(count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_command_gets_a_page_under_its_whole_name() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut post =
            clap::Command::new("post")
                .subcommand(clap::Command::new("seats").subcommand(
                    clap::Command::new("keep").about("Keep a seat whose key you have"),
                ));
        post.build();
        let count = write_manual_pages(&post, folder.path()).expect("written");
        assert_eq!(count, 3);
        let page = std::fs::read_to_string(folder.path().join("post-seats-keep.1"));
        let page = page.expect("a page");
        assert!(page.contains("Keep a seat whose key you have"), "{page}");
    }
}
