//! Finding the word that somebody meant.

/// Longest part of a word that is compared [characters].
const MOST_COMPARED: usize = 64;

/// Insertions, deletions and replacements between two words (V. I. Levenshtein, 1966).
pub fn edit_distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().take(MOST_COMPARED).collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().take(MOST_COMPARED).enumerate() {
        let mut diagonal = i;
        let mut left = i + 1;
        let mut next = vec![left];
        for (to, above) in b.iter().zip(row.iter().skip(1)) {
            let replaced = diagonal + usize::from(from != *to);
            left = replaced.min(left + 1).min(above + 1);
            diagonal = *above;
            next.push(left);
        }
        row = next;
    }
    row.last().copied().unwrap_or(0)
}

/// The known word nearest to a mistyped one, when it is near at all.
pub fn nearest<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    known
        .map(|k| (edit_distance(word, k), k))
        .filter(|(distance, k)| *distance <= 1 + k.len() / 3)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, k)| k)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_count_insertions_deletions_and_replacements() {
        for (a, b, expected) in [
            ("", "", 0),
            ("oak", "oak", 0),
            ("oak", "oaks", 1),
            ("kitten", "sitting", 3),
            ("Ä", "a", 1),
        ] {
            assert_eq!(edit_distance(a, b), expected, "{a} {b}");
            assert_eq!(edit_distance(b, a), expected, "{b} {a}");
        }
    }

    #[test]
    fn nearest_word_is_suggested_only_when_near() {
        assert_eq!(
            nearest("plastr", ["plaster", "oak"].into_iter()),
            Some("plaster")
        );
        assert_eq!(nearest("xyzzy", ["plaster", "oak"].into_iter()), None);
    }
}
