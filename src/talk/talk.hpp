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

struct Style {
  speech::Manner mouth;
  speech::Delivery delivery;
};

/// What is said, and where. The recording is the whole sound; `start` is where in the show its beginning lies (before 0 where it is trimmed).
struct Line {
  const speech::Recording& recording;
  std::optional<speech::Alignment> alignment;  ///< nothing: the mouth follows the sound alone
  show::Time start{0};
  std::optional<show::Range> only;             ///< of show time: the mouth's keys there alone are made anew. Nothing: all of the line, and its manner
};

struct Talk {
  show::Show show;              ///< long enough for the line
  speech::Alignment alignment;  ///< as given, or of the sound alone; its length is the recording's
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

/// What has to be made anew after words and phones in `changed` (of the sound) moved: as far around it as its mouth reaches.
show::Range around(show::Range changed, show::Time start);

}  // namespace mien::talk
