//! How easy a message is to read, by formulas that need only words, sentences and syllables.

/// Counts of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Sentences.
    pub sentences: usize,
    /// Words.
    pub words: usize,
    /// Syllables.
    pub syllables: usize,
}

/// Grade level of English text by Kincaid, Fishburne, Rogers, Chissom 1975 `[kincaid-1975]`:
/// `0.39 words/sentences + 11.8 syllables/words − 15.59`. `None` for a text without words.
pub fn flesch_kincaid_grade(counts: Counts) -> Option<f64> {
    let (sentences, words, syllables) = ratios(counts)?;
    Some(0.39 * words / sentences + 11.8 * syllables / words - 15.59)
}

/// Ease of Spanish text by Fernández Huerta 1959, in the form `206.84 − 60 syllables/words − 1.02 words/sentences` that later
/// authors corrected it to `[fernandez-huerta-1959]`; 60 to 70 is ordinary prose, above 70 easy. `None` for a text without words.
pub fn fernandez_huerta(counts: Counts) -> Option<f64> {
    let (sentences, words, syllables) = ratios(counts)?;
    Some(206.84 - 60.0 * syllables / words - 1.02 * words / sentences)
}

fn ratios(counts: Counts) -> Option<(f64, f64, f64)> {
    (counts.sentences > 0 && counts.words > 0).then_some((
        counts.sentences as f64,
        counts.words as f64,
        counts.syllables as f64,
    ))
}

/// Counts a text. Sentences end at `.`, `!`, `?`, `:` or a line end; a word is a run of letters, and numbers are left out, since the
/// formulas were fitted on prose.
pub fn count(text: &str, syllables: fn(&str) -> usize) -> Counts {
    let mut counts = Counts::default();
    for sentence in text.split(['.', '!', '?', ':', '\n']) {
        let before = counts.words;
        for word in words(sentence) {
            counts.words += 1;
            counts.syllables += syllables(word);
        }
        if counts.words > before {
            counts.sentences += 1;
        }
    }
    counts
}

/// The words of a text: runs of letters and apostrophes.
pub fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !(c.is_alphabetic() || c == '\'' || c == '’'))
        .map(|word| word.trim_matches(['\'', '’']))
        .filter(|word| word.chars().any(char::is_alphabetic))
}

/// Syllables of an English word, by vowel groups with the usual silent endings (common practice, no source); checked against a
/// pronouncing dictionary in the tests.
pub fn english_syllables(word: &str) -> usize {
    let letters: Vec<char> = word.to_lowercase().chars().filter(|c| c.is_alphabetic()).collect();
    let vowel = |c: char| matches!(c, 'a' | 'e' | 'i' | 'o' | 'u' | 'y');
    let mut groups = 0usize;
    let mut inside = false;
    for (at, &letter) in letters.iter().enumerate() {
        // A y at the start is a consonant.
        let is_vowel = vowel(letter) && !(letter == 'y' && at == 0);
        if is_vowel && !inside {
            groups += 1;
        }
        inside = is_vowel;
    }
    let ends = |tail: &str| word.to_lowercase().ends_with(tail);
    let before = |back: usize| letters.len().checked_sub(back + 1).map(|at| letters[at]);
    let consonant_before = |back: usize| before(back).is_some_and(|c| !vowel(c));
    // Silent e: "pipe", "pipes", "piped", but "table", "houses", "drained" keep or lose theirs as spoken.
    let silent_e = ends("e") && consonant_before(1) && !(ends("le") && consonant_before(2));
    let silent_es = ends("es")
        && consonant_before(2)
        && !["ses", "zes", "ces", "ges", "xes", "ches", "shes"]
            .iter()
            .any(|tail| ends(tail))
        && !(ends("les") && consonant_before(3));
    let silent_ed = ends("ed") && consonant_before(2) && !ends("ted") && !ends("ded");
    // The three endings exclude each other.
    if silent_e || silent_es || silent_ed {
        groups = groups.saturating_sub(1);
    }
    // "ia", "io", "eo" inside a word are two beats, except after c, g, s, t ("-tion").
    for (at, pair) in letters.windows(2).enumerate() {
        if matches!(pair, ['i', 'a'] | ['i', 'o'] | ['e', 'o'] | ['u', 'a'])
            && at > 0
            && !matches!(letters[at - 1], 'c' | 'g' | 's' | 't' | 'q' | 'x' | 'l')
        {
            groups += 1;
        }
    }
    groups.max(1)
}

/// Syllables of a Spanish word: every vowel is a syllable, except that a weak vowel (i, u, ü without accent) beside another vowel
/// shares one; the u of "qu", "gue", "gui" is silent, and a final y is a vowel (rules of Spanish spelling,
/// common practice, no source); checked against a syllabifier in the tests.
pub fn spanish_syllables(word: &str) -> usize {
    let letters: Vec<char> = word.to_lowercase().chars().filter(|c| c.is_alphabetic()).collect();
    let mut kinds: Vec<Option<bool>> = Vec::with_capacity(letters.len());
    for (at, &letter) in letters.iter().enumerate() {
        let next = letters.get(at + 1).copied();
        let last = at.checked_sub(1).map(|at| letters[at]);
        let silent_u =
            letter == 'u' && (last == Some('q') || (last == Some('g') && matches!(next, Some('e' | 'i' | 'é' | 'í'))));
        kinds.push(match letter {
            _ if silent_u => None,
            'a' | 'e' | 'o' | 'á' | 'é' | 'í' | 'ó' | 'ú' => Some(true),
            'i' | 'u' | 'ü' => Some(false),
            'y' if next.is_none() && last.is_some() => Some(false),
            'y' if letters.len() == 1 => Some(false),
            _ => None,
        });
    }
    let mut syllables = 0usize;
    let mut last: Option<bool> = None;
    for kind in kinds {
        match (last, kind) {
            // A strong vowel after a strong one starts anew; a weak one on either side joins.
            (Some(true), Some(true)) | (None, Some(_)) => syllables += 1,
            _ => {}
        }
        // The vowel that carries the syllable stays strong: "uai" is one, "oia" is two.
        last = kind;
    }
    syllables.max(1)
}
