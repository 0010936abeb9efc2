// Keyframes as comma-separated values (RFC 4180), for spreadsheets and scripts: a header `channel,time_s,value,easing`, then
// a row for each key. Times are exact to the nanosecond and values to the last bit, so export and import give the same keys.
#pragma once
#include <string>
#include <string_view>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::store {

/// Rows in the order of the show's channels and in rising time. A channel without keys, which does nothing, leaves no trace.
std::string export_keys(const show::Show& show);

/// A show of the keys alone, channels in the order in which they first appear, as long as its last key (at least 1 s); name and
/// rig file are left to the caller. Rows may come in any order, with either line ending, quoted or not, after a byte-order mark.
/// Refused, with the line: a control that the rig has not, a second key at a time, a time before 0, a number that is not finite,
/// an unknown easing. `file` is for the finding alone.
show::Result<show::Show> import_keys(std::string_view text, const show::Rig& rig, const std::string& file);

}  // namespace mien::store
