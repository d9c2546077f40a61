//! The word that a mistyped one was meant to be.

/// The known word nearest to a mistyped one, when it is near at all.
pub(super) fn nearest<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    known
        .map(|k| (edit_distance(word, k), k))
        .filter(|(d, k)| *d <= 1 + k.len() / 3)
        .min_by_key(|(d, _)| *d)
        .map(|(_, k)| k)
}

/// Levenshtein distance of two words.
fn edit_distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().take(64).collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().take(64).enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let next = (diagonal + usize::from(ca != *cb))
                .min(row[j] + 1)
                .min(row[j + 1] + 1);
            diagonal = row[j + 1];
            row[j + 1] = next;
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_word_is_suggested_only_when_near() {
        assert_eq!(
            nearest("plastr", ["plaster", "oak"].into_iter()),
            Some("plaster")
        );
        assert_eq!(nearest("xyzzy", ["plaster", "oak"].into_iter()), None);
    }
}
