// A head's servos as a table: comma-separated (RFC 4180), or separated by semicolons or tabs, as spreadsheets copy them. The first row names the
// columns, in any order: `name` is needed, role, group, board, output, min_deg, max_deg, rest_deg, reversed (yes or no) and servo may be there.
// A cell left empty is suggested (show/suggest.hpp).
#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "show/suggest.hpp"

namespace mien::store {

struct HeadTable {
  std::vector<show::HeadRow> rows;
  show::Findings notes;  ///< columns that are not known, and left out
};
/// Refused, with the line: no column `name`, a number that is none, a row longer than the first.
show::Result<HeadTable> read_head_table(std::string_view text, const std::string& file);

/// The columns' names, separated by commas.
std::string_view head_table_columns() noexcept;

}  // namespace mien::store
