#ifdef MIEN_DBUS
#include "editor/portal_service.hpp"

#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <stdexcept>

namespace mien::tests {
namespace {

constexpr const char* kName = "org.freedesktop.portal.Desktop";

std::string text_at(DBusMessageIter& at) {
  const char* text = "";
  dbus_message_iter_get_basic(&at, &text);
  return text;
}

std::string bytes_at(DBusMessageIter& array) {
  DBusMessageIter bytes;
  dbus_message_iter_recurse(&array, &bytes);
  const char* first = nullptr;
  int count = 0;
  dbus_message_iter_get_fixed_array(&bytes, &first, &count);
  return {first, static_cast<std::size_t>(count)};
}

std::vector<std::pair<std::string, std::vector<std::string>>> filters_at(DBusMessageIter& array) {
  std::vector<std::pair<std::string, std::vector<std::string>>> filters;
  DBusMessageIter filter, part, glob, pair;
  for (dbus_message_iter_recurse(&array, &filter); dbus_message_iter_get_arg_type(&filter) == DBUS_TYPE_STRUCT; dbus_message_iter_next(&filter)) {
    dbus_message_iter_recurse(&filter, &part);
    filters.push_back({text_at(part), {}});
    dbus_message_iter_next(&part);
    for (dbus_message_iter_recurse(&part, &glob); dbus_message_iter_get_arg_type(&glob) == DBUS_TYPE_STRUCT; dbus_message_iter_next(&glob)) {
      dbus_message_iter_recurse(&glob, &pair);
      std::uint32_t kind = 99;
      dbus_message_iter_get_basic(&pair, &kind);
      dbus_message_iter_next(&pair);
      filters.back().second.push_back((kind == 0 ? "" : "not a glob: ") + text_at(pair));
    }
  }
  return filters;
}

FakePortal::Asked read(DBusMessage* m) {
  FakePortal::Asked asked{dbus_message_get_member(m), dbus_message_get_signature(m), dbus_message_get_sender(m), "", "", {}, {}, {}};
  if (asked.signature != "ssa{sv}") return asked;
  DBusMessageIter at, entry, pair, value;
  dbus_message_iter_init(m, &at);
  asked.parent = text_at(at);
  dbus_message_iter_next(&at);
  asked.title = text_at(at);
  dbus_message_iter_next(&at);
  for (dbus_message_iter_recurse(&at, &entry); dbus_message_iter_get_arg_type(&entry) == DBUS_TYPE_DICT_ENTRY; dbus_message_iter_next(&entry)) {
    dbus_message_iter_recurse(&entry, &pair);
    const std::string key = text_at(pair);
    dbus_message_iter_next(&pair);
    dbus_message_iter_recurse(&pair, &value);
    char* type = dbus_message_iter_get_signature(&value);
    asked.types[key] = type;
    dbus_free(type);
    if (asked.types[key] == "s") asked.values[key] = text_at(value);
    if (asked.types[key] == "ay") asked.values[key] = bytes_at(value);
    if (asked.types[key] == "a(sa(us))") asked.filters = filters_at(value);
  }
  return asked;
}

}  // namespace

PrivateBus::PrivateBus() {
  if (std::system("command -v dbus-daemon >/dev/null 2>&1") != 0) {
    missing_ = "dbus-daemon is not installed";
    return;
  }
  const auto config = folder_ / "bus.conf";
  support::write(config, "<busconfig><type>session</type><listen>unix:path=" + (folder_ / "socket").string() +
                             "</listen><auth>EXTERNAL</auth><policy context=\"default\"><allow send_destination=\"*\"/><allow receive_sender=\"*\"/><allow own=\"*\"/></policy></busconfig>\n");
  int ends[2];
  if (::pipe2(ends, O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  pid_ = ::fork();
  if (pid_ == 0) {
    if (const int said = ::open((folder_ / "said").c_str(), O_WRONLY | O_CREAT, 0600); said >= 0) ::dup2(said, 2);
    ::fcntl(ends[1], F_SETFD, 0);  // open across exec
    ::execlp("dbus-daemon", "dbus-daemon", "--nofork", "--nopidfile", ("--config-file=" + config.string()).c_str(), ("--print-address=" + std::to_string(ends[1])).c_str(), nullptr);
    ::_exit(127);
  }
  ::close(ends[1]);
  // The address comes once it listens.
  std::array<char, 512> text{};
  for (ssize_t n; address_.find('\n') == std::string::npos && (n = ::read(ends[0], text.data(), text.size())) > 0;) address_.append(text.data(), static_cast<std::size_t>(n));
  ::close(ends[0]);
  address_ = address_.substr(0, address_.find('\n'));
  if (address_.empty()) missing_ = "dbus-daemon did not start: " + support::read(folder_ / "said");
  ::setenv("DBUS_SESSION_BUS_ADDRESS", address_.c_str(), 1);
}

PrivateBus::~PrivateBus() {
  ::unsetenv("DBUS_SESSION_BUS_ADDRESS");
  end();
}

void PrivateBus::end() {
  if (pid_ <= 0) return;
  ::kill(pid_, SIGKILL);
  ::waitpid(pid_, nullptr, 0);
  pid_ = -1;
}

std::string FakePortal::Asked::handle() const {
  std::string name = sender.substr(1);
  std::replace(name.begin(), name.end(), '.', '_');
  return "/org/freedesktop/portal/desktop/request/" + name + "/" + values.at("handle_token");
}

FakePortal::FakePortal(const std::string& address, Answer answer, bool stranger) : answer_(std::move(answer)) {
  dbus_threads_init_default();
  DBusError why;
  dbus_error_init(&why);
  line_ = dbus_connection_open_private(address.c_str(), &why);
  if (!line_ || !dbus_bus_register(line_, &why)) throw std::runtime_error(why.message);
  dbus_connection_set_exit_on_disconnect(line_, false);
  if (!stranger && dbus_bus_request_name(line_, kName, DBUS_NAME_FLAG_DO_NOT_QUEUE, &why) != DBUS_REQUEST_NAME_REPLY_PRIMARY_OWNER) throw std::runtime_error("the name is taken");
  if (!stranger) thread_ = std::jthread([this] { serve(); });
}

FakePortal::~FakePortal() {
  over_ = true;
  if (thread_.joinable()) thread_.join();
  if (!dead_) dbus_connection_close(line_);
  dbus_connection_unref(line_);
}

void FakePortal::serve() {
  while (!over_ && !dead_) {
    std::vector<std::function<void()>> now;
    {
      const std::scoped_lock lock(mutex_);
      now.swap(later_);
    }
    for (const auto& what : now) what();
    dbus_connection_read_write(line_, 2);
    while (DBusMessage* m = dead_ ? nullptr : dbus_connection_pop_message(line_)) hear(m), dbus_message_unref(m);
  }
  if (dead_) dbus_connection_close(line_);
}

void FakePortal::hear(DBusMessage* m) {
  if (dbus_message_is_method_call(m, "org.freedesktop.portal.Request", "Close")) {
    {
      const std::scoped_lock lock(mutex_);
      closed_.emplace_back(dbus_message_get_path(m));
    }
    if (told_closed_) told_closed_();
  }
  if (!dbus_message_has_interface(m, "org.freedesktop.portal.FileChooser") || !dbus_message_has_path(m, "/org/freedesktop/portal/desktop")) return;
  Asked asked = read(m);
  {
    const std::scoped_lock lock(mutex_);
    asked_.push_back(asked);
  }
  if (answer_) answer_(*this, asked, m);
}

void FakePortal::reply(DBusMessage* call, const std::string& handle) {
  DBusMessage* m = dbus_message_new_method_return(call);
  const char* path = handle.c_str();
  dbus_message_append_args(m, DBUS_TYPE_OBJECT_PATH, &path, DBUS_TYPE_INVALID);
  dbus_connection_send(line_, m, nullptr);
  dbus_connection_flush(line_);
  dbus_message_unref(m);
}

void FakePortal::refuse(DBusMessage* call, const char* error, const char* text) {
  DBusMessage* m = dbus_message_new_error(call, error, text);
  dbus_connection_send(line_, m, nullptr);
  dbus_connection_flush(line_);
  dbus_message_unref(m);
}

void FakePortal::respond(const std::string& handle, const std::string& to, std::uint32_t response, const std::vector<std::string>& uris) {
  DBusMessage* m = dbus_message_new_signal(handle.c_str(), "org.freedesktop.portal.Request", "Response");
  dbus_message_set_destination(m, to.c_str());
  DBusMessageIter at, results, entry, value, list;
  dbus_message_iter_init_append(m, &at);
  dbus_message_iter_append_basic(&at, DBUS_TYPE_UINT32, &response);
  dbus_message_iter_open_container(&at, DBUS_TYPE_ARRAY, "{sv}", &results);
  if (!uris.empty()) {
    const char* key = "uris";
    dbus_message_iter_open_container(&results, DBUS_TYPE_DICT_ENTRY, nullptr, &entry);
    dbus_message_iter_append_basic(&entry, DBUS_TYPE_STRING, &key);
    dbus_message_iter_open_container(&entry, DBUS_TYPE_VARIANT, "as", &value);
    dbus_message_iter_open_container(&value, DBUS_TYPE_ARRAY, "s", &list);
    for (const std::string& uri : uris) {
      const char* text = uri.c_str();
      dbus_message_iter_append_basic(&list, DBUS_TYPE_STRING, &text);
    }
    dbus_message_iter_close_container(&value, &list);
    dbus_message_iter_close_container(&entry, &value);
    dbus_message_iter_close_container(&results, &entry);
  }
  dbus_message_iter_close_container(&at, &results);
  dbus_connection_send(line_, m, nullptr);
  dbus_message_unref(m);
  // The bus keeps the order of what one sends: when it answers this, it has passed the signal on.
  DBusMessage* ping = dbus_message_new_method_call("org.freedesktop.DBus", "/org/freedesktop/DBus", "org.freedesktop.DBus", "GetId");
  if (DBusMessage* pong = dbus_connection_send_with_reply_and_block(line_, ping, -1, nullptr)) dbus_message_unref(pong);
  dbus_message_unref(ping);
}

void FakePortal::later(std::function<void()> what) {
  const std::scoped_lock lock(mutex_);
  later_.push_back(std::move(what));
}

std::vector<FakePortal::Asked> FakePortal::asked() const {
  const std::scoped_lock lock(mutex_);
  return asked_;
}

std::vector<std::string> FakePortal::closed() const {
  const std::scoped_lock lock(mutex_);
  return closed_;
}

}  // namespace mien::tests
#endif
