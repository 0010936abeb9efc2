// Numbers and strings for machines: shortest decimal that reads back the same, CSV fields, JSON.
#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "perform/study.hpp"
#include "show/finding.hpp"

namespace mien::app {

void append_number(std::string& out, double value);
std::string number(double value);
/// To the nearest of so many parts of one.
std::string rounded(double value, double parts = 100);

/// Quoted where RFC 4180 asks for it.
std::string csv_field(std::string_view text);

/// Rows of cells, the first the headings. aligned(): columns padded to their widest cell, a line a row.
using Table = std::vector<std::vector<std::string>>;
std::string aligned(const Table& table);

/// Builds one JSON value, in order: object().member("x", 1).close(). Commas are its own business.
class Json {
 public:
  Json& open_object(std::string_view name = {});
  Json& open_array(std::string_view name = {});
  Json& close();
  Json& member(std::string_view name, std::string_view value);
  Json& member(std::string_view name, const char* value) { return member(name, std::string_view(value)); }
  Json& member(std::string_view name, double value);  ///< null where it is not finite
  Json& member(std::string_view name, bool value);
  const std::string& text() const { return out_; }

 private:
  void key(std::string_view name);
  std::string out_, ends_;
  bool first_ = true;
};

void append(Json& json, const show::Finding& finding);
/// The same with when, which actuator, why and how much.
void append(Json& json, const perform::Plan& plan, const perform::Shortfall& shortfall, const std::string& file);

}  // namespace mien::app
