// mien_desktop: a desktop with a dialog for files, for scripts of the window, on a session bus of its own; nothing is to be seen of it. Says "bus ADDRESS" once that is there, for
// DBUS_SESSION_BUS_ADDRESS of whoever is to find it, then "asked METHOD PARENT TITLE" and "closed" as they happen. A line of standard input says what its person does with the newest question:
// "choose PATH", "cancel", or "die" for the desktop's end. Ends with its input.
#include <cctype>
#include <cstdio>
#include <iostream>
#include <string>

#include "editor/portal_service.hpp"

namespace {

// RFC 3986, 2.3: what is unreserved stands as it is.
std::string uri_of(const std::string& path) {
  std::string uri = "file://";
  for (const char c : path) {
    char escaped[4];
    std::snprintf(escaped, sizeof escaped, "%%%02X", static_cast<unsigned>(static_cast<unsigned char>(c)));
    const bool plain = (static_cast<unsigned char>(c) < 128 && std::isalnum(static_cast<unsigned char>(c))) || std::string_view("/-._~").find(c) != std::string_view::npos;
    uri += plain ? std::string(1, c) : escaped;
  }
  return uri;
}

void say(const std::string& line) {
  std::puts(line.c_str());
  std::fflush(stdout);
}

}  // namespace

int main() {
  using mien::tests::FakePortal;
  mien::tests::PrivateBus bus;
  if (!bus.missing().empty()) return std::fprintf(stderr, "%s\n", bus.missing().c_str()), 3;
  FakePortal::Asked newest;  // the portal's thread alone has it
  FakePortal portal(bus.address(), [&](FakePortal& p, const FakePortal::Asked& asked, DBusMessage* call) {
    p.reply(call, asked.handle());
    newest = asked;
    say("asked " + asked.method + " " + asked.parent + " " + asked.title);
  });
  portal.tell_closed([] { say("closed"); });
  say("bus " + bus.address());
  for (std::string line; std::getline(std::cin, line);)
    portal.later([&, line] {
      if (line.starts_with("choose ")) portal.respond(newest.handle(), newest.sender, 0, {uri_of(line.substr(7))});
      if (line == "cancel") portal.respond(newest.handle(), newest.sender, 1, {});
      if (line == "die") portal.die();
    });
}
