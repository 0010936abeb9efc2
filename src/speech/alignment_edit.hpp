// Corrections of an alignment by hand: where words and phones begin and end. Pure functions; an edit keeps the promises of alignment.hpp.
#pragma once
#include <cstddef>

#include "speech/alignment.hpp"

namespace mien::speech {

/// An edge of a word or phone.
struct Boundary {
  bool word = false;      ///< of a word; else of a phone
  std::size_t index = 0;  ///< in words or phones
  bool end = false;       ///< its end; else its beginning
  friend bool operator==(const Boundary&, const Boundary&) = default;
};

/// No word or phone gets shorter than these by hand.
inline constexpr show::Time kLeastPhone{10'000'000}, kLeastWord{20'000'000};

show::Time time_of(const Alignment& alignment, const Boundary& boundary) noexcept;

/// The edge moved to a time (of the sound), as far as its neighbours leave room; the one that it touches moves with it. A word's phones stretch with it; a
/// phone at the edge of its word takes the word along. What was changed counts as certain. An index beyond the end, and a word without a time, change nothing.
Alignment with_boundary(const Alignment& alignment, const Boundary& boundary, show::Time to);

/// What a change of that boundary may touch: its word or phone with both neighbours.
show::Range touched(const Alignment& alignment, const Boundary& boundary) noexcept;

/// The words from `word` on, `count` of them, with their phones, replaced by those of `said`, whose times count from `begin`; nothing of it reaches beyond `end`.
Alignment with_words(const Alignment& alignment, std::size_t word, std::size_t count, const Alignment& said, show::Time begin, show::Time end);

/// Words and phones of a stretch of the sound, counted from its beginning, as long as it is; what reaches out of it is cut there.
Alignment part_of(const Alignment& alignment, show::Range range);
/// All of it later by `by`, in a sound of that length.
Alignment moved(const Alignment& alignment, show::Time by, show::Time length);

/// Where a word can be: from the end of what is said before it to the beginning of what is said after it. Of a word with a time that time itself.
show::Range room_of(const Alignment& alignment, std::size_t word) noexcept;

}  // namespace mien::speech
