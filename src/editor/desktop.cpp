#include "editor/desktop.hpp"

#include <array>
#include <cctype>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>

#include "show/text.hpp"

namespace mien::editor {
namespace {

std::string portal_reply() {
  constexpr const char* kAsk =
      "dbus-send --session --print-reply=literal --reply-timeout=500 --dest=org.freedesktop.portal.Desktop /org/freedesktop/portal/desktop "
      "org.freedesktop.portal.Settings.Read string:org.freedesktop.appearance string:color-scheme 2>/dev/null";
  std::FILE* reply = ::popen(kAsk, "r");
  if (!reply) return {};
  std::array<char, 256> text{};
  const std::size_t length = std::fread(text.data(), 1, text.size(), reply);
  ::pclose(reply);
  return {text.data(), length};
}

// In the value of an address every byte but these stands as % and two hexadecimal digits.
std::string escaped(std::string_view path) {
  constexpr std::string_view kPlain = "-_/.\\*", kDigits = "0123456789abcdef";
  std::string text;
  for (const char c : path) {
    const auto byte = static_cast<unsigned char>(c);
    if ((byte < 128 && std::isalnum(byte)) || kPlain.find(c) != std::string_view::npos) text += c;
    else text += '%', text += kDigits[byte >> 4], text += kDigits[byte & 15];
  }
  return text;
}

}  // namespace

std::string bus_address() {
  // NOLINTBEGIN(concurrency-mt-unsafe): nothing in this program changes its environment
  if (const char* address = std::getenv("DBUS_SESSION_BUS_ADDRESS"); address && *address) return std::string_view(address).starts_with("autolaunch:") ? "" : address;
  const char* runtime = std::getenv("XDG_RUNTIME_DIR");
  // NOLINTEND(concurrency-mt-unsafe)
  if (!runtime || !*runtime) return "";
  const std::filesystem::path socket = std::filesystem::path(runtime) / "bus";
  std::error_code ignored;
  return std::filesystem::exists(socket, ignored) ? "unix:path=" + escaped(socket.string()) : "";
}

std::optional<bool> dark_by_reply(std::string_view reply) noexcept {
  constexpr std::string_view kType = "uint32 ";
  const auto at = reply.rfind(kType);
  if (at == std::string_view::npos) return std::nullopt;
  const std::string_view number = reply.substr(at + kType.size());
  if (number.empty() || (number.size() > 1 && std::isdigit(static_cast<unsigned char>(number[1])))) return std::nullopt;
  if (number.front() == '1') return true;
  if (number.front() == '2') return false;
  return std::nullopt;
}

std::optional<bool> dark_by_gtk_theme(std::string_view theme) {
  if (theme.empty()) return std::nullopt;
  const std::string small = show::small_letters(theme);
  return small.ends_with(":dark") || small.ends_with("-dark");
}

std::optional<bool> desktop_is_dark() {
  if (!bus_address().empty())
    if (const auto dark = dark_by_reply(portal_reply())) return dark;
  const char* gtk = std::getenv("GTK_THEME");  // NOLINT(concurrency-mt-unsafe): as above
  return dark_by_gtk_theme(gtk ? gtk : "");
}

}  // namespace mien::editor
