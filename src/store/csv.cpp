#include "store/csv.hpp"

#include <algorithm>
#include <memory>
#include <unordered_map>
#include <vector>

#include "show/text.hpp"
#include "store/records.hpp"
#include "store/scan.hpp"

namespace mien::store {
namespace {

using show::Finding;

constexpr std::string_view kHeader = "channel,time_s,value,easing";
constexpr std::size_t kKeyColumns = 4;

std::string quoted(const std::string& field) {
  if (field.find_first_of(",\"\r\n") == std::string::npos) return field;
  std::string text = "\"";
  for (const char c : field) text += c == '"' ? std::string("\"\"") : std::string(1, c);
  return text + '"';
}

struct Row {
  show::Keyframe key;
  std::size_t line;
};

class Import {
 public:
  Import(const show::Rig& rig, const std::string& file) : file_(file) {
    for (const auto& control : rig.controls) controls_.push_back(control.name);
  }

  show::Result<show::Show> run(std::string_view text) {
    if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
    Records records(text);
    try {
      header(records);
      while (records.next()) row(records);
      return finish();
    } catch (Finding& problem) { return std::move(problem); }
  }

 private:
  [[noreturn]] void fail(std::size_t line, std::string what, std::string cure) const {
    throw Finding{show::Severity::error, file_, "line " + std::to_string(line), std::move(what), std::move(cure)};
  }

  void header(Records& records) const {
    const std::string cure = "Begin with the line " + std::string(kHeader) + ", and separate with commas.";
    if (!records.next()) fail(1, "there is nothing in it", cure);
    std::string found;
    for (const std::string& field : records.fields()) found += (found.empty() ? "" : ",") + field;
    if (found != kHeader) fail(records.line(), "the first line is '" + shown(found) + "'", cure);
  }

  void row(const Records& records) {
    const auto& fields = records.fields();
    const std::size_t line = records.line();
    if (records.open_quote()) fail(line, "a quote that opens here is never closed", "Close it with a second \".");
    if (fields.size() != kKeyColumns) {
      fail(line, "there are " + std::to_string(fields.size()) + " fields, not " + std::to_string(kKeyColumns),
           "Give " + std::string(kHeader) + "; put quotes around a name with a comma.");
    }
    if (std::find(controls_.begin(), controls_.end(), fields[0]) == controls_.end()) {
      const std::string hint = show::suggestion(fields[0], controls_);
      fail(line, "the rig has no control '" + shown(fields[0]) + "'",
           hint.empty() ? "Add the control to the rig." : hint);
    }
    const auto time = show::parse_seconds(fields[1]);
    if (!time || *time < show::Time{0})
      fail(line, "'" + shown(fields[1]) + "' is not a time", "Give seconds from the show's start, as in 1.25.");
    const auto value = show::parse_number(fields[2]);
    if (!value) fail(line, "'" + shown(fields[2]) + "' is not a finite number", "Give the control's value, as in 0.8.");
    const auto easing = show::parse_easing(fields[3]);
    if (!easing) {
      fail(line, "'" + shown(fields[3]) + "' is not an easing",
           "Give hold, linear, smooth, ease, ease-in, ease-out, ease-in-out or bezier(x1 y1 x2 y2) with x1 and x2 "
           "between 0 and 1.");
    }
    rows_of(fields[0]).push_back({{*time, *value, *easing}, line});
  }

  std::vector<Row>& rows_of(const std::string& control) {
    const auto [place, fresh] = places_.emplace(control, channels_.size());
    if (fresh) channels_.push_back({control, {}});
    return channels_[place->second].second;
  }

  show::Show finish() {
    show::Show show;
    show.length = std::chrono::seconds(1);
    for (auto& [control, rows] : channels_) {
      std::stable_sort(rows.begin(), rows.end(), [](const Row& a, const Row& b) { return a.key.time < b.key.time; });
      auto channel = std::make_shared<show::Channel>(show::Channel{control, {}});
      for (std::size_t i = 0; i < rows.size(); ++i) {
        if (i > 0 && rows[i].key.time == rows[i - 1].key.time) {
          fail(rows[i].line,
               "'" + shown(control) + "' has a key at " + show::seconds_text(rows[i].key.time) + " s on line " +
                   std::to_string(rows[i - 1].line) + " already",
               "Delete one of them.");
        }
        channel->keys.push_back(rows[i].key);
      }
      show.length = std::max(show.length, channel->keys.back().time);
      show.channels.push_back(std::move(channel));
    }
    return show;
  }

  std::string file_;
  std::vector<std::string> controls_;
  std::vector<std::pair<std::string, std::vector<Row>>> channels_;
  std::unordered_map<std::string, std::size_t> places_;
};

}  // namespace

std::string export_keys(const show::Show& show) {
  std::string text = std::string(kHeader) + "\n";
  for (const auto& channel : show.channels) {
    const std::string control = quoted(channel->control);
    for (const auto& key : channel->keys) {
      text += control + ',' + show::seconds_text(key.time) + ',' + show::number_text(key.value) + ',' +
              show::to_text(key.easing) + '\n';
    }
  }
  return text;
}

show::Result<show::Show> import_keys(std::string_view text, const show::Rig& rig, const std::string& file) {
  return Import(rig, file).run(text);
}

}  // namespace mien::store
