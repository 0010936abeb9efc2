#include "store/head_table.hpp"

#include <algorithm>
#include <cctype>

#include "show/text.hpp"
#include "store/records.hpp"
#include "store/scan.hpp"

namespace mien::store {
namespace {

using show::Finding;
using show::HeadRow;

constexpr std::string_view kHeadColumns = "name,role,group,board,output,min_deg,max_deg,rest_deg,reversed,servo";
constexpr std::size_t kMostRows = 1000;

std::vector<std::string> column_names() {
  std::vector<std::string> names;
  Records records(kHeadColumns);
  records.next();
  names = records.fields();
  return names;
}

std::string trimmed(const std::string& text) {
  const auto begin = text.find_first_not_of(' ');
  return begin == std::string::npos ? "" : text.substr(begin, text.find_last_not_of(' ') - begin + 1);
}

// As a spreadsheet's heading may spell it: "Min deg" is min_deg.
std::string heading(std::string text) {
  text = trimmed(text);
  for (char& c : text) c = c == ' ' ? '_' : static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return text;
}

// What most of the first line's separators are.
char separator_of(std::string_view text) {
  const std::string_view first = text.substr(0, text.find('\n'));
  const auto count = [&](char c) { return std::count(first.begin(), first.end(), c); };
  return count('\t') > 0 ? '\t' : count(';') > count(',') ? ';' : ',';
}

class Table {
 public:
  explicit Table(const std::string& file) : file_(file) {}

  show::Result<HeadTable> run(std::string_view text) {
    if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
    Records records(text, separator_of(text));
    HeadTable table;
    try {
      if (!records.next()) fail(1, "there is nothing in it", "Begin with a row of columns: " + std::string(kHeadColumns) + "; only name is needed.");
      columns(records, table);
      while (records.next()) {
        if (table.rows.size() == kMostRows) fail(records.line(), "there are more than " + std::to_string(kMostRows) + " rows", "Give one row for each servo.");
        row(records, table);
      }
    } catch (Finding& problem) { return std::move(problem); }
    return table;
  }

 private:
  [[noreturn]] void fail(std::size_t line, std::string what, std::string cure) const {
    throw Finding{show::Severity::error, file_, "line " + std::to_string(line), std::move(what), std::move(cure)};
  }

  void columns(const Records& records, HeadTable& table) {
    const auto known = column_names();
    for (const std::string& field : records.fields()) {
      columns_.push_back(heading(field));
      const std::string& column = columns_.back();
      if (std::count(columns_.begin(), columns_.end(), column) > 1 && !column.empty()) fail(records.line(), "the column '" + shown(column) + "' stands there twice", "Delete one.");
      if (!column.empty() && std::find(known.begin(), known.end(), column) == known.end())
        table.notes.push_back({show::Severity::warning, file_, "line " + std::to_string(records.line()), "the column '" + shown(field) + "' is not known and left out", show::suggestion(column, known)});
    }
    if (std::find(columns_.begin(), columns_.end(), "name") == columns_.end())
      fail(records.line(), "there is no column 'name'", "Begin with a row of columns: " + std::string(kHeadColumns) + "; only name is needed.");
  }

  void row(const Records& records, HeadTable& table) const {
    if (records.open_quote()) fail(records.line(), "a quote that opens here is never closed", "Close it with a second \".");
    if (records.fields().size() > columns_.size())
      fail(records.line(), "there are " + std::to_string(records.fields().size()) + " cells under " + std::to_string(columns_.size()) + " columns", "Put quotes around a cell with a separator in it.");
    HeadRow row;
    row.line = static_cast<int>(records.line());
    bool empty = true;
    for (std::size_t i = 0; i < records.fields().size(); ++i) {
      const std::string cell = trimmed(records.fields()[i]);
      if (!cell.empty()) empty = false, take(columns_[i], cell, row);
    }
    if (!empty) table.rows.push_back(std::move(row));
  }

  double number(const std::string& column, const std::string& cell, const HeadRow& row) const {
    const auto value = show::parse_number(cell);
    if (!value) fail(static_cast<std::size_t>(row.line), column + " '" + shown(cell) + "' is not a number", "Write it with a point, as in -12.5, or leave the cell empty.");
    return *value;
  }

  void take(const std::string& column, const std::string& cell, HeadRow& row) const {
    if (column == "name") row.name = cell;
    if (column == "role") row.role = cell;
    if (column == "group") row.group = cell;
    if (column == "board") row.board = cell;
    if (column == "servo") row.servo = cell;
    if (column == "min_deg") row.min_deg = number(column, cell, row);
    if (column == "max_deg") row.max_deg = number(column, cell, row);
    if (column == "rest_deg") row.rest_deg = number(column, cell, row);
    if (column == "output") {
      const double value = number(column, cell, row);
      if (!(value >= 0 && value < show::kMaxOutputsPerBoard) || value != static_cast<int>(value)) fail(static_cast<std::size_t>(row.line), "output '" + shown(cell) + "' is none", "Give 0 to " + std::to_string(show::kMaxOutputsPerBoard - 1) + ".");
      row.output = static_cast<int>(value);
    }
    if (column != "reversed") return;
    const std::string word = heading(cell);
    if (word == "yes" || word == "true" || word == "1" || word == "y") row.reversed = true;
    else if (word == "no" || word == "false" || word == "0" || word == "n") row.reversed = false;
    else fail(static_cast<std::size_t>(row.line), "reversed '" + shown(cell) + "' is neither yes nor no", "Write yes or no, or leave the cell empty.");
  }

  const std::string& file_;
  std::vector<std::string> columns_;
};

}  // namespace

std::string_view head_table_columns() noexcept { return kHeadColumns; }

show::Result<HeadTable> read_head_table(std::string_view text, const std::string& file) { return Table(file).run(text); }

}  // namespace mien::store
