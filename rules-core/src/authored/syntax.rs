//! The parser's complaints in words for people, each with a remedy.

/// What a complaint of the TOML parser means and what would do. Complaints not known here keep
/// the parser's words.
pub(super) fn explained(message: &str) -> (String, String) {
    let known: [(&str, &str, &str); 9] = [
        (
            "recurs",
            "the file is nested too deep",
            "no setting needs more than a few tables in one another",
        ),
        (
            "duplicate key",
            "this key is set twice",
            "keep one of the two; a further unit, patch or row begins with its own [[...]] line",
        ),
        (
            "string values must be quoted",
            "a value must follow the equals sign, and words stand in quotes",
            "write a number, true, false, or text in double quotes",
        ),
        (
            "key with no value",
            "this is a key without a value",
            "write key = value; text that only explains begins with #",
        ),
        (
            "unclosed array",
            "the list that begins above is not closed",
            "end it with ]",
        ),
        (
            "unclosed table",
            "the table heading is not closed",
            "write [name] or [[name]]",
        ),
        (
            "unclosed inline table",
            "the table that begins with { is not closed",
            "end it with }",
        ),
        (
            "invalid basic string",
            "the text in double quotes is not closed or has an unknown \\ sequence",
            "end it with \" on the same line; write \\\\ for a single \\",
        ),
        (
            "invalid literal string",
            "the text in single quotes is not closed",
            "end it with ' on the same line",
        ),
    ];
    for (mark, problem, remedy) in known {
        if message.contains(mark) {
            return (problem.to_owned(), remedy.to_owned());
        }
    }
    (
        format!("this is not TOML: {message}"),
        "a line is key = value, a [heading], or a comment after #".to_owned(),
    )
}
