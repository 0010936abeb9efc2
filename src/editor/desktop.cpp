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

// Without a bus that runs already dbus-send would start one, which nobody asked for.
bool has_bus() {
  if (const char* address = std::getenv("DBUS_SESSION_BUS_ADDRESS"); address && *address) return true;
  const char* runtime = std::getenv("XDG_RUNTIME_DIR");
  std::error_code ignored;
  return runtime && *runtime && std::filesystem::exists(std::filesystem::path(runtime) / "bus", ignored);
}

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

}  // namespace

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
  if (has_bus())
    if (const auto dark = dark_by_reply(portal_reply())) return dark;
  const char* gtk = std::getenv("GTK_THEME");
  return dark_by_gtk_theme(gtk ? gtk : "");
}

}  // namespace mien::editor
