//! The word that was most likely meant.

/// The candidate nearest to `word`, if one is near enough to be worth asking about. Case and spaces do not count; of
/// equally near candidates the first wins. Suggested only, never taken.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    all_nearest(word, candidates).first().copied()
}

/// All candidates that are equally near to `word`, as [`nearest`].
pub fn all_nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    nearest_of(word, &mut candidates.into_iter())
}

fn nearest_of<'a>(word: &str, candidates: &mut dyn Iterator<Item = &'a str>) -> Vec<&'a str> {
    let wanted = plain(word);
    let mut best: Vec<&str> = Vec::new();
    let mut least = usize::MAX;
    if wanted.is_empty() || wanted.len() > 60 {
        return best;
    }
    for candidate in candidates {
        let other = plain(candidate);
        if other.is_empty() || other.len() > 200 {
            continue;
        }
        let allowed = match wanted.len().max(other.len()) {
            0..=2 => 1,
            3..=5 => 2,
            longer => longer / 3,
        };
        let gap = distance(&wanted, &other);
        let one_in_the_other = wanted.len().min(other.len()) >= 4
            && (text_of(&wanted).contains(&text_of(&other)) || text_of(&other).contains(&text_of(&wanted)));
        let score = if gap <= allowed && gap < wanted.len().max(other.len()) {
            gap
        } else if one_in_the_other {
            allowed + 1
        } else {
            continue;
        };
        if score < least {
            best.clear();
            least = score;
        }
        if score == least {
            best.push(candidate);
        }
    }
    best
}

fn plain(word: &str) -> Vec<char> {
    word.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

fn text_of(letters: &[char]) -> String {
    letters.iter().collect()
}

/// Number of single letters to add, drop, change or swap with a neighbour (optimal string alignment).
fn distance(a: &[char], b: &[char]) -> usize {
    let width = b.len() + 1;
    let mut two_back = vec![0; width];
    let mut back: Vec<usize> = (0..width).collect();
    for (i, x) in a.iter().enumerate() {
        let mut row = Vec::with_capacity(width);
        row.push(i + 1);
        for (j, y) in b.iter().enumerate() {
            let at = |row: &[usize], j: usize| row.get(j).copied().unwrap_or(usize::MAX / 2);
            let mut least = (at(&back, j) + usize::from(x != y)).min(at(&back, j + 1) + 1).min(at(&row, j) + 1);
            if i > 0 && j > 0 && a.get(i - 1) == Some(y) && b.get(j - 1) == Some(x) {
                least = least.min(at(&two_back, j - 1) + 1);
            }
            row.push(least);
        }
        two_back = std::mem::replace(&mut back, row);
    }
    back.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_a_letter_finds_the_word_that_was_meant() {
        assert_eq!(nearest("Storge pond", ["Settling pond", "Storage pond"]), Some("Storage pond"));
        assert_eq!(nearest("gmp", ["gph", "gpm", "cfs"]), Some("gpm"));
        assert_eq!(nearest("goes too", ["takes from", "goes to"]), Some("goes to"));
    }

    #[test]
    fn a_word_that_is_like_nothing_gets_no_suggestion() {
        assert_eq!(nearest("zebra", ["takes from", "goes to"]), None);
        assert_eq!(nearest("", ["goes to"]), None);
    }
}
