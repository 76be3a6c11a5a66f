//! Reads Rust source as far as the architecture test needs it: code without its comments, texts and tests, and its functions.
//! It is no parser. What it blanks keeps its place, so that a line number in here is the line number in the file.

/// One function: its name, whether it is async, the line it starts on, how many lines it has, how many arguments.
pub struct Function {
    pub name: String,
    pub is_async: bool,
    pub line: usize,
    pub lines: usize,
    pub arguments: usize,
}

/// The code alone: comments, texts and characters, and what stands under `#[cfg(test)]`, are blanks.
pub fn code_of(source: &str) -> String {
    without_tests(&without_texts(source))
}

pub fn line_at(code: &str, offset: usize) -> usize {
    code[..offset].matches('\n').count() + 1
}

fn blank(text: &str) -> String {
    text.chars()
        .map(|letter| if letter == '\n' { '\n' } else { ' ' })
        .collect()
}

fn without_texts(source: &str) -> String {
    let mut code = String::with_capacity(source.len());
    let mut rest = source;
    while let Some(first) = rest.chars().next() {
        let in_word = code.chars().last().is_some_and(is_word);
        let length = text_length(rest, in_word);
        let taken = length.unwrap_or(first.len_utf8());
        let piece = &rest[..taken];
        if length.is_some() || !first.is_ascii() {
            code.push_str(&blank(piece));
        } else {
            code.push_str(piece);
        }
        rest = &rest[taken..];
    }
    code
}

/// How long the comment, text or character is that `rest` begins with, if it begins with one.
fn text_length(rest: &str, in_word: bool) -> Option<usize> {
    if rest.starts_with("//") {
        return Some(rest.find('\n').unwrap_or(rest.len()));
    }
    if rest.starts_with("/*") {
        return Some(rest.find("*/").map_or(rest.len(), |end| end + 2));
    }
    if rest.starts_with('"') {
        return Some(quoted_length(rest, '"'));
    }
    if rest.starts_with('r') && !in_word {
        return raw_length(rest);
    }
    if rest.starts_with('\'') {
        return character_length(rest);
    }
    None
}

fn quoted_length(rest: &str, quote: char) -> usize {
    let mut is_escaped = false;
    for (at, letter) in rest.char_indices().skip(1) {
        match letter {
            _ if is_escaped => is_escaped = false,
            '\\' => is_escaped = true,
            _ if letter == quote => return at + 1,
            _ => {}
        }
    }
    rest.len()
}

/// `r"…"` and `r#"…"#`, but not an `r#name`.
fn raw_length(rest: &str) -> Option<usize> {
    let hashes = rest[1..]
        .chars()
        .take_while(|letter| *letter == '#')
        .count();
    let start = 1 + hashes;
    if !rest[start..].starts_with('"') {
        return None;
    }
    let end = format!("\"{}", "#".repeat(hashes));
    let found = rest[start + 1..].find(&end);
    Some(found.map_or(rest.len(), |at| start + 1 + at + end.len()))
}

/// `'x'` and `'\n'`, but not the lifetime `'x`.
fn character_length(rest: &str) -> Option<usize> {
    let mut letters = rest.char_indices().skip(1);
    let (_, first) = letters.next()?;
    if first == '\\' {
        return Some(quoted_length(rest, '\''));
    }
    let (at, second) = letters.next()?;
    (second == '\'').then_some(at + 1)
}

fn without_tests(code: &str) -> String {
    const MARK: &str = "#[cfg(test)]";
    let mut kept = code.to_owned();
    while let Some(start) = kept.find(MARK) {
        let end = item_end(&kept, start + MARK.len());
        let blanked = blank(&kept[start..end]);
        kept.replace_range(start..end, &blanked);
    }
    kept
}

/// Where the item that begins at `from` ends: behind its closing brace, or its semicolon.
fn item_end(code: &str, from: usize) -> usize {
    let mut braces = 0_usize;
    let mut others = 0_usize;
    for (at, letter) in code[from..].char_indices() {
        match letter {
            '(' | '[' => others += 1,
            ')' | ']' => others = others.saturating_sub(1),
            '{' => braces += 1,
            '}' if braces <= 1 => return from + at + 1,
            '}' => braces -= 1,
            ';' if braces == 0 && others == 0 => return from + at + 1,
            _ => {}
        }
    }
    code.len()
}

pub fn is_word(letter: char) -> bool {
    letter.is_alphanumeric() || letter == '_'
}

/// Where `word` stands as a whole word. A `word` may end in `(` or contain `::`.
pub fn places_of(code: &str, word: &str) -> Vec<usize> {
    let starts_as_word = word.starts_with(is_word);
    let ends_as_word = word.ends_with(is_word);
    code.match_indices(word)
        .map(|(at, _)| at)
        .filter(|at| !(starts_as_word && code[..*at].ends_with(is_word)))
        .filter(|at| !(ends_as_word && code[at + word.len()..].starts_with(is_word)))
        .collect()
}

/// The word that `code` begins with, blanks before it left out.
pub fn first_word(code: &str) -> &str {
    let code = code.trim_start();
    let end = code.find(|letter| !is_word(letter)).unwrap_or(code.len());
    &code[..end]
}

/// The parts of `list` between its commas, those inside brackets of any kind not counted. `list` starts behind the opening bracket.
pub fn parts(list: &str) -> Vec<&str> {
    let mut depth = 0_i32;
    let mut found = Vec::new();
    let mut start = 0;
    let mut before = ' ';
    for (at, letter) in list.char_indices() {
        match letter {
            '(' | '[' | '{' | '<' => depth += 1,
            '>' if before == '-' || before == '=' => {}
            ')' | ']' | '}' | '>' if depth == 0 => {
                found.push(&list[start..at]);
                break;
            }
            ')' | ']' | '}' | '>' => depth -= 1,
            ',' if depth == 0 => {
                found.push(&list[start..at]);
                start = at + 1;
            }
            _ => {}
        }
        before = letter;
    }
    found.retain(|part| !part.trim().is_empty());
    found
}

pub fn functions(code: &str) -> Vec<Function> {
    places_of(code, "fn")
        .into_iter()
        .filter_map(|start| function_at(code, start))
        .collect()
}

fn function_at(code: &str, start: usize) -> Option<Function> {
    let name = first_word(&code[start + 2..]);
    // A type such as fn(i64) -> bool has no name.
    if name.is_empty() || code[start + 2..].starts_with('(') {
        return None;
    }
    let behind_name = start + code[start..].find(name)? + name.len();
    let open = behind_name + arguments_start(&code[behind_name..])?;
    let line = line_at(code, start);
    let last = line_at(code, item_end(code, start) - 1);
    Some(Function {
        name: name.to_owned(),
        is_async: code[..start].trim_end().ends_with("async"),
        line,
        lines: last - line + 1,
        arguments: parts(&code[open + 1..]).len(),
    })
}

/// The bracket before the arguments, behind the generics if there are any.
fn arguments_start(code: &str) -> Option<usize> {
    let mut depth = 0_i32;
    let mut before = ' ';
    for (at, letter) in code.char_indices() {
        match letter {
            '<' => depth += 1,
            '>' if before != '-' => depth -= 1,
            '(' if depth == 0 => return Some(at),
            _ => {}
        }
        before = letter;
    }
    None
}
