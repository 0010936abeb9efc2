#include "editor/desktop.hpp"

#include <gtest/gtest.h>

namespace mien::tests {
namespace {

// XDG Desktop Portal, interface org.freedesktop.portal.Settings, color-scheme: "0: No preference, 1: Prefer dark appearance, 2: Prefer light
// appearance. Unknown values should be treated as 0". The replies as dbus-send --print-reply=literal writes a variant within a variant.
TEST(Desktop, ThePortalsReplyIsReadAsItIsSpecified) {
  EXPECT_EQ(editor::dark_by_reply("   variant       variant          uint32 1\n"), true);
  EXPECT_EQ(editor::dark_by_reply("   variant       variant          uint32 2\n"), false);
  EXPECT_EQ(editor::dark_by_reply("   variant       uint32 1"), true);
  for (const char* reply : {"   variant       variant          uint32 0\n", "uint32 3", "uint32 12", "uint32 ", "", "Error org.freedesktop.DBus.Error.ServiceUnknown"})
    EXPECT_EQ(editor::dark_by_reply(reply), std::nullopt) << reply;
}

// GTK's own form of the variable, "Theme:variant".
TEST(Desktop, TheVariableNamesADarkVariant) {
  EXPECT_EQ(editor::dark_by_gtk_theme("Adwaita:dark"), true);
  EXPECT_EQ(editor::dark_by_gtk_theme("Something-Dark"), true);
  EXPECT_EQ(editor::dark_by_gtk_theme("Adwaita"), false);
  EXPECT_EQ(editor::dark_by_gtk_theme("Adwaita:light"), false);
  EXPECT_EQ(editor::dark_by_gtk_theme(""), std::nullopt);
}

}  // namespace
}  // namespace mien::tests
