// The desktop's dialog for files, against portals made here. What a portal is and does is as the XDG Desktop Portal publishes it (org.freedesktop.portal.FileChooser.xml and
// org.freedesktop.portal.Request.xml, package xdg-desktop-portal-dev, 1.16: "the XML" below).
#include "editor/portal.hpp"

#include <gmock/gmock.h>

#include <array>
#include <cstdio>

#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::path_of_uri;

// RFC 8089, appendix B: traditional, minimal and non-local file URIs; section 2: "localhost" is the same as an empty host.
TEST(PathOfUri, TakesTheFormsOfRfc8089) {
  for (const char* uri : {"file:///path/to/file", "file:/path/to/file", "file://localhost/path/to/file", "FILE:///path/to/file"}) EXPECT_EQ(path_of_uri(uri), "/path/to/file") << uri;
  EXPECT_EQ(path_of_uri("file://host.example.com/path/to/file"), std::nullopt);
}

// RFC 3986, 2.1: hexadecimal digits of either case are the same; 2.4: decoded once only ("%2525").
TEST(PathOfUri, DecodesPercentSignsOnce) {
  EXPECT_EQ(path_of_uri("file:///a%20b/%C3%BC%c3%bc"), "/a b/\u00fc\u00fc");
  EXPECT_EQ(path_of_uri("file:///%2525"), "/%25");
  for (const char* uri : {"file:///a%", "file:///a%2", "file:///a%zz", "file:///a%00b", "file:///a?b", "file:///a#b", "file:a/b", "file://", "file:", "http:///a", "/a", ""}) EXPECT_EQ(path_of_uri(uri), std::nullopt) << uri;
}

// Python's pathlib makes the URI (PurePath.as_uri) of a name with every byte that a name can have.
TEST(PathOfUri, UndoesWhatPythonMakesOfAnyName) {
  std::string name;
  for (int byte = 1; byte < 256; ++byte)
    if (byte != '/') name += static_cast<char>(byte);
  std::FILE* python = ::popen(R"sh(python3 -c "import os, pathlib; print(pathlib.Path(os.fsdecode(b'/x/' + bytes(b for b in range(1, 256) if b != 47))).as_uri())")sh", "r");
  ASSERT_TRUE(python);
  std::array<char, 2048> uri{};
  ASSERT_TRUE(std::fgets(uri.data(), uri.size(), python));
  ::pclose(python);
  const std::string text(uri.data());
  EXPECT_EQ(path_of_uri(text.substr(0, text.find('\n'))), "/x/" + name);
}

// The XML of Request: "SENDER is the callers unique name, with the initial ':' removed and all '.' replaced by '_'".
TEST(RequestPath, IsThatOfTheDocumentation) { EXPECT_EQ(editor::request_path(":1.42", "mien_7"), "/org/freedesktop/portal/desktop/request/1_42/mien_7"); }

}  // namespace
}  // namespace mien::tests

#ifndef MIEN_DBUS
TEST(Portal, IsAsked) { GTEST_SKIP() << "libdbus-1-dev is not installed"; }
#else
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <future>
#include <regex>

#include "editor/desktop.hpp"
#include "editor/portal_service.hpp"

namespace mien::tests {
namespace {
using editor::PathAnswer;
using editor::PathWanted;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Pair;
using What = editor::PathAnswer::What;

bool always(double) { return true; }

PathWanted a_show() {
  PathWanted wanted;
  wanted.title = "Open a show", wanted.accept = "Open", wanted.parent = "x11:2a0000b";
  wanted.filters = {{"Shows", {"*.show.json"}}, {"All files", {"*"}}};
  wanted.folder = "/shows/b\u00fchne";
  return wanted;
}

// Chooses at once.
FakePortal::Answer chooses(std::string uri, std::uint32_t response = 0) {
  return [=](FakePortal& portal, const FakePortal::Asked& asked, DBusMessage* call) {
    portal.reply(call, asked.handle());
    portal.respond(asked.handle(), asked.sender, response, response == 0 ? std::vector{uri} : std::vector<std::string>{});
  };
}

class Portal : public testing::Test {
 protected:
  void SetUp() override {
    if (!bus.missing().empty()) GTEST_SKIP() << bus.missing();
  }
  PrivateBus bus;
};

TEST_F(Portal, GivesThePathThatWasChosen) {
  const FakePortal portal(bus.address(), chooses("file:///home/m/K%C3%B6pfe%20der%20B%C3%BChne/na%20ja%2C%20gut.show.json"));
  const PathAnswer answer = editor::ask_portal(a_show(), always);
  EXPECT_EQ(answer.what, What::chosen) << answer.why;
  EXPECT_EQ(answer.path, "/home/m/K\u00f6pfe der B\u00fchne/na ja, gut.show.json");
  EXPECT_THAT(portal.closed(), testing::IsEmpty());
}

// What the XML has between a method's name and its end, and the options that its description lists as "<term>KEY TYPE</term>".
struct Published {
  std::string in, out;
  std::map<std::string, std::string> options;
};
Published published(const std::string& xml, const std::string& method) {
  Published p;
  const std::string described = xml.substr(xml.find("      " + method + ":\n")), text = described.substr(0, described.find("</method>")), arguments = text.substr(text.find("<method name"));
  const std::regex term("<term>(\\w+) (\\S+)</term>"), argument("type=\"([^\"]+)\" name=\"\\w+\" direction=\"(\\w+)\"");
  for (std::sregex_iterator i(text.begin(), text.end(), term), end; i != end; ++i) p.options.emplace((*i)[1], (*i)[2]);
  for (std::sregex_iterator i(arguments.begin(), arguments.end(), argument), end; i != end; ++i) ((*i)[2] == "in" ? p.in : p.out) += (*i)[1];
  return p;
}

TEST_F(Portal, IsAskedInTheWordsOfItsPublishedInterface) {
  const std::filesystem::path file = "/usr/share/dbus-1/interfaces/org.freedesktop.portal.FileChooser.xml";
  if (!std::filesystem::exists(file)) GTEST_SKIP() << "xdg-desktop-portal-dev is not installed";
  const std::string xml = support::read(file);
  const FakePortal portal(bus.address(), chooses("file:///a"));
  PathWanted save = a_show();
  save.save = true, save.name = "Gr\u00fc\u00dfe.show.json";
  editor::ask_portal(a_show(), always);
  editor::ask_portal(save, always);
  ASSERT_EQ(portal.asked().size(), 2u);
  for (const FakePortal::Asked& asked : portal.asked()) {
    Published standard = published(xml, asked.method);
    ASSERT_EQ(standard.out, "o") << "the XML was not understood";
    if (asked.method == "OpenFile") standard.options["current_folder"] = "ay";  // since version 4, which 1.16 does not have yet
    EXPECT_EQ(asked.signature, standard.in);
    for (const auto& [key, type] : asked.types) EXPECT_EQ(standard.options[key], type) << asked.method << ", " << key;
    EXPECT_EQ(asked.parent, "x11:2a0000b");
    EXPECT_EQ(asked.title, "Open a show");
    EXPECT_EQ(asked.values.at("accept_label"), "Open");
    EXPECT_EQ(asked.values.at("current_folder"), std::string("/shows/b\u00fchne") + '\0') << "the XML: \"The byte array is expected to be null-terminated\"";
    EXPECT_THAT(asked.filters, ElementsAre(Pair("Shows", ElementsAre("*.show.json")), Pair("All files", ElementsAre("*"))));
  }
  EXPECT_EQ(portal.asked()[0].method, "OpenFile");
  EXPECT_FALSE(portal.asked()[0].values.contains("current_name"));
  EXPECT_EQ(portal.asked()[1].method, "SaveFile");
  EXPECT_EQ(portal.asked()[1].values.at("current_name"), "Gr\u00fc\u00dfe.show.json");
  EXPECT_NE(portal.asked()[0].values.at("handle_token"), portal.asked()[1].values.at("handle_token"));
}

// D-Bus specification, "Basic types": a STRING must be valid UTF-8, which a file's name needn't be.
TEST_F(Portal, IsNotToldANameThatIsNoText) {
  const FakePortal portal(bus.address(), chooses("file:///a"));
  PathWanted wanted = a_show();
  wanted.save = true, wanted.name = "na\xff", wanted.folder = "/na\xff";
  EXPECT_EQ(editor::ask_portal(wanted, always).what, What::chosen);
  ASSERT_EQ(portal.asked().size(), 1u);
  EXPECT_FALSE(portal.asked()[0].values.contains("current_name"));
  EXPECT_EQ(portal.asked()[0].values.at("current_folder"), std::string("/na\xff") + '\0');
}

// The XML of Request: "0: Success", "1: The user cancelled the interaction", "2: The user interaction was ended in some other way".
TEST_F(Portal, SaysWhetherThePersonCancelled) {
  {
    const FakePortal portal(bus.address(), chooses("", 1));
    EXPECT_EQ(editor::ask_portal(a_show(), always).what, What::cancelled);
  }
  const FakePortal portal(bus.address(), chooses("", 2));
  EXPECT_EQ(editor::ask_portal(a_show(), always).what, What::failed);
}

TEST_F(Portal, AnAnswerThatIsNoFileOfThisMachineIsNotTaken) {
  for (const char* uri : {"https://example.com/a.show.json", "file://elsewhere.example.com/a", "file:///a%0"}) {
    const FakePortal portal(bus.address(), chooses(uri));
    const PathAnswer answer = editor::ask_portal(a_show(), always);
    EXPECT_EQ(answer.what, What::failed) << uri;
    EXPECT_THAT(answer.why, HasSubstr(uri));
  }
  const FakePortal portal(bus.address(), [](FakePortal& p, const FakePortal::Asked& asked, DBusMessage* call) {
    p.reply(call, asked.handle());
    p.respond(asked.handle(), asked.sender, 0, {});
  });
  EXPECT_THAT(editor::ask_portal(a_show(), always).why, HasSubstr("no file"));
}

// The XML of Request: "to let applications subscribe to the Response signal before making the initial portal call, thereby avoiding a race condition".
TEST_F(Portal, IsHeardThoughItAnswersBeforeTheCallReturns) {
  const FakePortal portal(bus.address(), [](FakePortal& p, const FakePortal::Asked& asked, DBusMessage* call) {
    p.respond(asked.handle(), asked.sender, 0, {"file:///early"});
    p.reply(call, asked.handle());
  });
  EXPECT_EQ(editor::ask_portal(a_show(), always).path, "/early");
}

// The XML of Request: "It is recommended that the caller should verify that the returned handle is what it expected, and update its signal subscription if it isn't".
TEST_F(Portal, IsHeardOnAHandleOfItsOwn) {
  const FakePortal portal(bus.address(), [](FakePortal& p, const FakePortal::Asked& asked, DBusMessage* call) {
    const std::string handle = "/org/freedesktop/portal/desktop/request/t7";
    p.reply(call, handle);
    p.respond(asked.handle(), asked.sender, 0, {"file:///of/another/request"});
    p.respond(handle, asked.sender, 0, {"file:///old"});
  });
  EXPECT_EQ(editor::ask_portal(a_show(), always).path, "/old");
}

TEST_F(Portal, NobodyElseAnswersForIt) {
  FakePortal stranger(bus.address(), {}, true);
  const FakePortal portal(bus.address(), [&](FakePortal& p, const FakePortal::Asked& asked, DBusMessage* call) {
    stranger.respond(asked.handle(), asked.sender, 0, {"file:///forged"});
    p.reply(call, asked.handle());
    stranger.respond(asked.handle(), asked.sender, 0, {"file:///forged"});
    p.respond(asked.handle(), asked.sender, 0, {"file:///true"});
  });
  EXPECT_EQ(editor::ask_portal(a_show(), always).path, "/true");
}

// D-Bus specification, "Standard errors" as its reference library names them.
TEST_F(Portal, WhatItRefusesWithSaysWhetherThereIsADialogAtAll) {
  for (const auto& [error, what] : {std::pair{DBUS_ERROR_UNKNOWN_METHOD, What::none}, std::pair{DBUS_ERROR_UNKNOWN_INTERFACE, What::none}, std::pair{DBUS_ERROR_ACCESS_DENIED, What::failed}, std::pair{DBUS_ERROR_FAILED, What::failed}}) {
    const FakePortal portal(bus.address(), [name = error](FakePortal& p, const FakePortal::Asked&, DBusMessage* call) { p.refuse(call, name, "not today"); });
    const PathAnswer answer = editor::ask_portal(a_show(), always);
    EXPECT_EQ(answer.what, what) << error;
    EXPECT_THAT(answer.why, HasSubstr(what == What::failed ? "not today" : "no desktop portal"));
  }
}

TEST_F(Portal, IsNoneWhereNobodyHasItsName) { EXPECT_EQ(editor::ask_portal(a_show(), always).what, What::none); }

TEST(PortalWithout, ABusThereIsNone) {
  for (const char* name : {"DBUS_SESSION_BUS_ADDRESS", "XDG_RUNTIME_DIR"}) ::unsetenv(name);
  EXPECT_EQ(editor::ask_portal(a_show(), always).what, What::none);
  const support::Folder folder;
  ::setenv("DBUS_SESSION_BUS_ADDRESS", ("unix:path=" + (folder / "gone").string()).c_str(), 1);
  EXPECT_EQ(editor::ask_portal(a_show(), always).what, What::none);
  ::unsetenv("DBUS_SESSION_BUS_ADDRESS");
}

// The XML of Request, Close: "Closes the portal request to which this object refers and ends all related user interaction (dialogs, etc)".
TEST_F(Portal, IsClosedWhereNobodyWaitsAnyMore) {
  for (const bool replies : {true, false}) {
    std::atomic<bool> go_on = true;
    const FakePortal portal(bus.address(), [&](FakePortal& p, const FakePortal::Asked& asked, DBusMessage* call) {
      if (replies) p.reply(call, asked.handle());
      go_on = false;
    });
    EXPECT_EQ(editor::ask_portal(a_show(), [&](double) { return go_on.load(); }).what, What::cancelled);
    for (int i = 0; i < 5000 && portal.closed().empty(); ++i) ::usleep(1000);
    ASSERT_EQ(portal.asked().size(), 1u);
    EXPECT_THAT(portal.closed(), ElementsAre(portal.asked()[0].handle())) << (replies ? "with" : "without") << " a reply before";
  }
}

TEST_F(Portal, ThatTakesNoQuestionIsNotWaitedForForEver) {
  const FakePortal portal(bus.address());  // hears, and says nothing
  PathWanted wanted = a_show();
  wanted.patience_s = 1;
  const PathAnswer answer = editor::ask_portal(wanted, always);
  EXPECT_EQ(answer.what, What::failed);
  EXPECT_THAT(answer.why, HasSubstr("does not answer"));
}

TEST_F(Portal, ThatDiesIsNoticed) {
  for (const bool replies : {true, false}) {
    const FakePortal portal(bus.address(), [&](FakePortal& p, const FakePortal::Asked& asked, DBusMessage* call) {
      if (replies) p.reply(call, asked.handle());
      p.die();
    });
    EXPECT_EQ(editor::ask_portal(a_show(), always).what, What::failed) << (replies ? "with" : "without") << " a reply before";
  }
}

TEST_F(Portal, WhoseBusDiesIsNoticed) {
  const FakePortal portal(bus.address(), [&](FakePortal& p, const FakePortal::Asked& asked, DBusMessage* call) {
    p.reply(call, asked.handle());
    bus.end();
  });
  EXPECT_EQ(editor::ask_portal(a_show(), always).what, What::failed);
}

TEST(PortalWithout, ABusThatSaysNothingIsGivenUpWhenAsked) {
  const support::Folder folder;
  const std::string path = (folder / "bus").string();
  sockaddr_un name{};
  name.sun_family = AF_UNIX;
  path.copy(name.sun_path, sizeof name.sun_path - 1);
  const int mute = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  ASSERT_EQ(::bind(mute, reinterpret_cast<const sockaddr*>(&name), sizeof name), 0);
  ASSERT_EQ(::listen(mute, 4), 0);
  ::setenv("DBUS_SESSION_BUS_ADDRESS", ("unix:path=" + path).c_str(), 1);
  int looks = 0;
  EXPECT_EQ(editor::ask_portal(a_show(), [&](double) { return ++looks < 4; }).what, What::cancelled);
  EXPECT_EQ(looks, 4);
  ::unsetenv("DBUS_SESSION_BUS_ADDRESS");
  ::close(mute);
}

// libdbus-1 escapes an address's value by the same rule (dbus_address_escape_value).
TEST(BusAddress, IsThatOfTheEnvironmentElseTheSocketInTheRuntimeFolder) {
  const support::Folder folder;
  const std::string runtime = (folder / "a b,c=d;%\u00fc*").string();
  std::filesystem::create_directories(runtime);
  ::unsetenv("DBUS_SESSION_BUS_ADDRESS");
  ::setenv("XDG_RUNTIME_DIR", runtime.c_str(), 1);
  EXPECT_EQ(editor::bus_address(), "") << "there is no socket";
  support::write(runtime + "/bus", "");
  char* escaped = dbus_address_escape_value((runtime + "/bus").c_str());
  EXPECT_EQ(editor::bus_address(), std::string("unix:path=") + escaped);
  dbus_free(escaped);
  ::setenv("DBUS_SESSION_BUS_ADDRESS", "unix:path=/x", 1);
  EXPECT_EQ(editor::bus_address(), "unix:path=/x");
  ::setenv("DBUS_SESSION_BUS_ADDRESS", "autolaunch:", 1);
  EXPECT_EQ(editor::bus_address(), "") << "none is started";
  for (const char* name : {"DBUS_SESSION_BUS_ADDRESS", "XDG_RUNTIME_DIR"}) ::unsetenv(name);
}

}  // namespace
}  // namespace mien::tests
#endif
