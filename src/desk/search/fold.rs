//! What is typed and what is listed, brought to one form: case, accents, street words, marks between digits.

/// Longest text that is searched for, characters; more is cut.
pub const LONGEST: usize = 200;

/// Short forms of street words, which callers and lists mix, with their long ones: the short ones are read as the long, for a slip of
/// typing is seen in a long word only. From USPS Publication 28, appendices B and C1 (from memory), those that are no words of their own,
/// and their Spanish likes (common practice). `st` is a saint as often as a street, so both are one.
const STREET_WORDS: &[(&str, &str)] = &[
    ("aly", "alley"),
    ("apt", "apartment"),
    ("ave", "avenue"),
    ("av", "avenue"),
    ("avda", "avenue"),
    ("avenida", "avenue"),
    ("bldg", "building"),
    ("blf", "bluff"),
    ("blvd", "boulevard"),
    ("bulevar", "boulevard"),
    ("brg", "bridge"),
    ("calle", "street"),
    ("cir", "circle"),
    ("cres", "crescent"),
    ("crk", "creek"),
    ("ct", "court"),
    ("ctr", "center"),
    ("centre", "center"),
    ("cv", "cove"),
    ("cyn", "canyon"),
    ("dr", "drive"),
    ("e", "east"),
    ("este", "east"),
    ("expy", "expressway"),
    ("fwy", "freeway"),
    ("gdns", "gardens"),
    ("grv", "grove"),
    ("hbr", "harbor"),
    ("harbour", "harbor"),
    ("holw", "hollow"),
    ("hts", "heights"),
    ("hwy", "highway"),
    ("jct", "junction"),
    ("knl", "knoll"),
    ("lk", "lake"),
    ("ln", "lane"),
    ("lndg", "landing"),
    ("mdw", "meadow"),
    ("mdws", "meadows"),
    ("mt", "mount"),
    ("mtn", "mountain"),
    ("n", "north"),
    ("norte", "north"),
    ("ne", "northeast"),
    ("nw", "northwest"),
    ("oeste", "west"),
    ("orch", "orchard"),
    ("pkwy", "parkway"),
    ("pl", "place"),
    ("plz", "plaza"),
    ("pt", "point"),
    ("rd", "road"),
    ("rdg", "ridge"),
    ("riv", "river"),
    ("rnch", "ranch"),
    ("s", "south"),
    ("sur", "south"),
    ("saint", "street"),
    ("se", "southeast"),
    ("spg", "spring"),
    ("spgs", "springs"),
    ("sq", "square"),
    ("st", "street"),
    ("sta", "station"),
    ("ste", "suite"),
    ("sw", "southwest"),
    ("ter", "terrace"),
    ("terr", "terrace"),
    ("tpke", "turnpike"),
    ("trl", "trail"),
    ("vly", "valley"),
    ("vlg", "village"),
    ("w", "west"),
    ("xing", "crossing"),
    ("first", "1st"),
    ("second", "2nd"),
    ("third", "3rd"),
    ("fourth", "4th"),
    ("fifth", "5th"),
    ("sixth", "6th"),
    ("seventh", "7th"),
    ("eighth", "8th"),
    ("ninth", "9th"),
    ("tenth", "10th"),
];

/// A letter without its accent, in lower case. An accent that is a mark of its own (as some systems store it) is dropped.
fn plain(c: char) -> Option<char> {
    Some(match c {
        'á' | 'à' | 'ä' | 'â' | 'ã' | 'å' => 'a',
        'é' | 'è' | 'ë' | 'ê' => 'e',
        'í' | 'ì' | 'ï' | 'î' => 'i',
        'ó' | 'ò' | 'ö' | 'ô' | 'õ' | 'ø' => 'o',
        'ú' | 'ù' | 'ü' | 'û' => 'u',
        'ñ' => 'n',
        'ç' => 'c',
        '\u{300}'..='\u{36f}' => return None,
        other => other,
    })
}

fn letters(text: &str) -> impl Iterator<Item = char> {
    text.chars()
        .take(LONGEST)
        .flat_map(char::to_lowercase)
        .filter_map(plain)
}

/// Folded words of a text, in order.
pub fn words_of(text: &str) -> Vec<String> {
    let folded: String = letters(text).filter(|c| !matches!(c, '\'' | '’' | '.')).collect();
    folded
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(|word| {
            let long = STREET_WORDS.iter().find(|(short, _)| *short == word);
            long.map_or(word, |(_, long)| long).to_owned()
        })
        .collect()
}

/// Neighbours as one word ("Green Wood", "Mac Arthur"): words of letters alone that are no street words.
pub fn pairs_of(words: &[String]) -> impl Iterator<Item = String> {
    let of_letters = |word: &String| {
        word.chars().all(char::is_alphabetic) && !STREET_WORDS.iter().any(|(_, long)| *long == word.as_str())
    };
    words
        .windows(2)
        .filter(move |pair| pair.iter().all(of_letters))
        .map(|pair| pair.concat())
}

/// Letters and figures of an identifier, without its marks.
pub fn code_of(text: &str) -> String {
    letters(text).filter(|c| c.is_alphanumeric()).collect()
}

/// A number without the zeros before it; a number of nothing but zeros keeps one.
pub fn without_zeros(code: &str) -> &str {
    let short = code.trim_start_matches('0');
    if short.is_empty() {
        code.get(..1).unwrap_or("")
    } else {
        short
    }
}

/// A code with the signs that look alike on a worn tag made one (common practice).
pub fn alike(code: &str) -> String {
    code.chars()
        .map(|c| match c {
            'o' | 'q' | 'd' => '0',
            'i' | 'l' => '1',
            'z' => '2',
            's' => '5',
            'b' => '8',
            other => other,
        })
        .collect()
}

/// A number without its extension: what stands before the first letter that follows a digit.
pub fn without_extension(text: &str) -> &str {
    let first_digit = text.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
    let rest = text.get(first_digit..).unwrap_or("");
    let end = rest
        .find(|c: char| c.is_alphabetic() || c == '#')
        .map_or(text.len(), |at| first_digit + at);
    text.get(..end).unwrap_or(text)
}

/// Digits from the end, without an extension, and without what is dialled before a number of ten: 1, or 00 or 011 with 1.
pub fn tail_of(text: &str) -> String {
    let digits: String = without_extension(text).chars().filter(char::is_ascii_digit).collect();
    let national = ["0111", "001", "1"]
        .iter()
        .find_map(|before| digits.strip_prefix(before).filter(|rest| rest.len() == 10));
    national.unwrap_or(&digits).chars().rev().collect()
}

/// The numbers in a cell: lists hold two where there is room for one ("201-555-0142 / 201-555-0199").
pub fn numbers_of(text: &str) -> Vec<String> {
    let several: Vec<String> = text
        .split(['/', ';', ',', '|', '&', '\n'])
        .map(tail_of)
        .filter(|tail| tail.len() >= WHOLE_LOCAL)
        .collect();
    let whole = tail_of(text);
    // One alone may have its area code before such a mark.
    if several.len() > 1 {
        several
    } else if whole.len() >= WHOLE_LOCAL {
        vec![whole]
    } else {
        Vec::new()
    }
}

/// Digits of a number without its area code (definition: the North American plan).
pub const WHOLE_LOCAL: usize = 7;
/// Digits of a number with it.
pub const WHOLE: usize = 10;
