// Texts as people have them: plain, or with times (WebVTT, SubRip).
#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "show/finding.hpp"
#include "speech/align.hpp"

namespace mien::speech {

/// WebVTT (W3C) by its first line, SubRip by its first two, anything else plain: one line without a time. Tags, positions, notes, styles and the names
/// of cues are left out; cues are put in the order of their times. A byte order mark and CR LF are accepted. Findings name the line: a time
/// that is none, a cue that ends before it begins, bytes that are not UTF-8, an empty text.
show::Result<std::vector<Line>> read_text(std::string_view text, const std::string& file = {});

}  // namespace mien::speech
