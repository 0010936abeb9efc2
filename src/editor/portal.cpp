#include "editor/portal.hpp"

#include <algorithm>

#include "show/text.hpp"

namespace mien::editor {
namespace {

int hexadecimal(char c) noexcept {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

}  // namespace

std::string request_path(std::string_view unique_name, std::string_view token) {
  if (unique_name.starts_with(':')) unique_name.remove_prefix(1);
  std::string sender(unique_name);
  std::replace(sender.begin(), sender.end(), '.', '_');
  return "/org/freedesktop/portal/desktop/request/" + sender + "/" + std::string(token);
}

std::optional<std::filesystem::path> path_of_uri(std::string_view uri) {
  constexpr std::string_view kScheme = "file:", kHost = "//", kLocal = "localhost";
  if (show::small_letters(std::string(uri.substr(0, kScheme.size()))) != kScheme) return {};
  uri.remove_prefix(kScheme.size());
  if (uri.starts_with(kHost)) {
    uri.remove_prefix(kHost.size());
    const std::string_view host = uri.substr(0, uri.find('/'));
    if (!host.empty() && show::small_letters(std::string(host)) != kLocal) return {};
    uri.remove_prefix(host.size());
  }
  if (!uri.starts_with('/')) return {};
  std::string path;
  for (std::size_t i = 0; i < uri.size(); ++i) {
    if (uri[i] == '?' || uri[i] == '#' || uri[i] == '\0') return {};
    if (uri[i] != '%') {
      path += uri[i];
      continue;
    }
    if (i + 2 >= uri.size()) return {};
    const int high = hexadecimal(uri[i + 1]), low = hexadecimal(uri[i + 2]);
    if (high < 0 || low < 0 || high + low == 0) return {};
    path += static_cast<char>(high * 16 + low);
    i += 2;
  }
  return std::filesystem::path(path);
}

#ifndef MIEN_DBUS
PathAnswer ask_portal(const PathWanted&, const GoOn&) { return {PathAnswer::What::none, {}, "this Mien was built without libdbus-1"}; }
#endif

}  // namespace mien::editor
