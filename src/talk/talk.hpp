// A line onto a show: the mouth on one layer, the manner of speaking on another.
#pragma once
#include <optional>

#include "show/rig.hpp"
#include "show/show.hpp"
#include "speech/delivery.hpp"
#include "speech/mouth.hpp"
#include "speech/place.hpp"
#include "speech/recording.hpp"
#include "speech/visemes.hpp"

namespace mien::talk {

/// Brows, head, blinks and gaze, on a layer that adds to what is below.
inline constexpr const char* kMannerLayer = "speech manner";

inline constexpr double kMostMouth = 3;  ///< of the mouth's amount and emphasis

struct Style {
  speech::Manner mouth;
  speech::Delivery delivery;
};

/// "mouth 1 emphasis 1 brows 0.5 head 0.5 blinks 0.8 gaze 0.5 seed 3": what goes with a line's words (Alignment::made_with), so that a correction is made as the line was.
std::string to_text(const Style& style);
/// The inverse; amounts beyond what is allowed are brought within. Nothing where the text is none of these.
std::optional<Style> parse_style(std::string_view text);

/// What is said, and where. The recording is the whole sound; `start` is where in the show its beginning lies (before 0 where it is trimmed).
struct Line {
  const speech::Recording& recording;
  std::optional<speech::Alignment> alignment;  ///< nothing: the mouth follows the sound alone
  show::Time start{0};
  /// Of show time: keys there alone are made anew, the mouth's and, where the show has one, the manner's, in whole gestures. Nothing: all of the line, and its manner.
  std::optional<show::Range> only;
  std::optional<show::Range> heard = {};       ///< what of the sound is played, in its own time; nothing else moves the mouth. Nothing: all of it
};

struct Talk {
  show::Show show;              ///< long enough for the line
  speech::Alignment alignment;  ///< as given, or of the sound alone; its length is the recording's, and of a whole line it says how the mouth was made
  std::size_t keys = 0, channels = 0;      ///< of the mouth
  std::size_t manner_keys = 0;             ///< of all else
};

/// Two calls with equal arguments give equal shows. Notes: what of the style the rig has no control for.
Talk speak(const show::Rig& rig, const show::Show& show, const speech::VisemeTable& table, const Line& line, const Style& style, show::Findings* notes = nullptr);

/// The same line with another text for one of its words, "" for none: that stretch of the sound is aligned anew. Where the new text isn't what is heard there, the word gets it all the
/// same, with the phones that it had, and a note says so.
speech::Alignment reworded(const speech::Recording& recording, const speech::Alignment& alignment, std::size_t word, const std::string& text, show::Findings& notes);

/// Keys and weights of the two layers within `line` (of show time) moved by `by`: what a line's sound takes along when it is moved.
show::Show with_line_moved(const show::Show& show, show::Range line, show::Time by);

/// The two layers of a line off where its sound isn't heard any more, and on again where it is: its keys stay for when the sound is trimmed otherwise. `was` and `now`: where in the show the
/// sound is heard; `line`: from its first phone to its last; `others`: where other sounds are, whose lines stay on.
show::Show with_line_heard(const show::Show& show, show::Range line, show::Range was, show::Range now, const std::vector<show::Range>& others);

/// A sound of the show in another place, or trimmed otherwise, with its mouth: what is said moves along, and is off where it isn't heard. `lengths` of all the show's sounds' files, 0 where
/// one can't be read; `alignment` of this one, null: none.
show::Show with_sound(const show::Show& show, std::size_t sound, const show::Sound& now, const std::vector<show::Time>& lengths, const speech::Alignment* alignment);

/// Why the words of a sound can't be listened for: nothing of it is heard; else as speech::no_voice of what is.
std::optional<show::Finding> no_voice(const speech::Recording& recording, show::Range heard, const std::string& file);

/// What has to be made anew after words and phones in `changed` (of the sound) moved: as far around it as its mouth reaches.
show::Range around(show::Range changed, show::Time start);

}  // namespace mien::talk
