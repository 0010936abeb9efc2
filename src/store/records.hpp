// Comma-separated values (RFC 4180), record by record. Inside src/store.
#pragma once
#include <string>
#include <string_view>
#include <vector>

namespace mien::store {

inline constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";

/// Splits a text into records of fields, and knows the line on which each begins.
class Records {
 public:
  explicit Records(std::string_view text, char separator = ',') : text_(text), separator_(separator) {}

  /// False at the end. Lines without anything on them are passed over.
  bool next() {
    do {
      if (at_ >= text_.size()) return false;
      line_ = next_line_;
      fields_.clear();
      open_quote_ = false;
      while (field()) {}
    } while (fields_.size() == 1 && fields_[0].empty());
    return true;
  }
  const std::vector<std::string>& fields() const noexcept { return fields_; }
  std::size_t line() const noexcept { return line_; }
  bool open_quote() const noexcept { return open_quote_; }  ///< the text ended within quotes

 private:
  // Reads one field; true where another follows in this record.
  bool field() {
    std::string text;
    if (at_ < text_.size() && text_[at_] == '"') quoted_part(text);
    while (at_ < text_.size() && text_[at_] != separator_ && text_[at_] != '\n') text += text_[at_++];
    const bool more = at_ < text_.size() && text_[at_] == separator_;
    if (!more && !text.empty() && text.back() == '\r') text.pop_back();
    if (at_ < text_.size() && text_[at_++] == '\n') ++next_line_;
    fields_.push_back(std::move(text));
    return more;
  }

  void quoted_part(std::string& text) {
    for (++at_; at_ < text_.size(); ++at_) {
      if (text_[at_] == '\n') ++next_line_;
      if (text_[at_] != '"') text += text_[at_];
      else if (at_ + 1 < text_.size() && text_[at_ + 1] == '"') text += text_[at_++];
      else {
        ++at_;
        return;
      }
    }
    open_quote_ = true;
  }

  std::string_view text_;
  char separator_;
  std::size_t at_ = 0, line_ = 1, next_line_ = 1;
  std::vector<std::string> fields_;
  bool open_quote_ = false;
};

}  // namespace mien::store
