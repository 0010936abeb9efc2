// What the desktop says about light and dark, and where its bus is.
#pragma once
#include <optional>
#include <string>
#include <string_view>

namespace mien::editor {

/// Of the session's D-Bus that runs already: DBUS_SESSION_BUS_ADDRESS, else the socket `bus` in XDG_RUNTIME_DIR (D-Bus specification, "Well-known Message Bus Instances" and "Server
/// Addresses"). Empty where there is none, and where the address says that one is to be started, which nobody asked for.
std::string bus_address();

/// Asks the desktop's portal over D-Bus, by the program dbus-send, for `color-scheme` of `org.freedesktop.appearance` (XDG Desktop Portal,
/// interface Settings), else GTK_THEME. Nothing where neither says. May take half a second: not on the window's thread.
std::optional<bool> desktop_is_dark();

/// Of dbus-send's reply: 1 prefers dark, 2 prefers light, anything else says nothing.
std::optional<bool> dark_by_reply(std::string_view reply) noexcept;
/// Of GTK_THEME, "Name" or "Name:variant": dark where the variant is, or the name ends in -dark; nothing where it is empty.
std::optional<bool> dark_by_gtk_theme(std::string_view theme);

}  // namespace mien::editor
