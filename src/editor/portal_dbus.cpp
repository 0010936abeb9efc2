// How the portal is asked: one connection for one question, read in small steps so that it can be given up at any of them.
#ifdef MIEN_DBUS
#include <dbus/dbus.h>

#include <algorithm>
#include <cstdint>
#include <memory>
#include <random>
#include <vector>

#include "editor/desktop.hpp"
#include "editor/portal.hpp"
#include "store/scan.hpp"
#include "threads/steady.hpp"

namespace mien::editor {
namespace {

using AnswerKind = PathAnswer::What;
constexpr const char *kPortal = "org.freedesktop.portal.Desktop", *kDesktop = "/org/freedesktop/portal/desktop", *kRequest = "org.freedesktop.portal.Request";
constexpr int kStep_ms = 20;              ///< between looks at whether to go on
constexpr std::size_t kMostHeard = 64;    ///< answers to others, before ours is known
constexpr std::uint32_t kChosen = 0, kCancelled = 1;  // of Response
constexpr std::uint32_t kGlob = 0;                    // of filters

struct Unref { void operator()(DBusMessage* m) const noexcept { dbus_message_unref(m); } };
using Message = std::unique_ptr<DBusMessage, Unref>;
struct CloseLine {
  void operator()(DBusConnection* c) const noexcept {
    dbus_connection_close(c);
    dbus_connection_unref(c);
  }
};
struct Error : DBusError {
  Error() { dbus_error_init(this); }
  ~Error() { dbus_error_free(this); }
  Error(const Error&) = delete;
  Error& operator=(const Error&) = delete;
};

std::string text_or_nothing(const char* text) { return text ? text : ""; }

Message call(const char* to, const char* path, const char* interface, const char* method) { return Message(dbus_message_new_method_call(to, path, interface, method)); }

// Not to be guessed, as the documentation of org.freedesktop.portal.Request asks.
std::string new_token() {
  std::random_device chance;
  std::string token = "mien";
  for (int i = 0; i < 4; ++i) token += "_" + std::to_string(chance());
  return token;
}

void put_text(DBusMessageIter& at, const std::string& text) {
  const char* bytes = text.c_str();
  dbus_message_iter_append_basic(&at, DBUS_TYPE_STRING, &bytes);
}

// One `{sv}` of the options.
template <class Fill>
void option(DBusMessageIter& options, const char* key, const char* type, Fill fill) {
  DBusMessageIter entry, value;
  dbus_message_iter_open_container(&options, DBUS_TYPE_DICT_ENTRY, nullptr, &entry);
  dbus_message_iter_append_basic(&entry, DBUS_TYPE_STRING, &key);
  dbus_message_iter_open_container(&entry, DBUS_TYPE_VARIANT, type, &value);
  fill(value);
  dbus_message_iter_close_container(&entry, &value);
  dbus_message_iter_close_container(&options, &entry);
}

void put_filters(DBusMessageIter& value, const std::vector<PathFilter>& filters) {
  DBusMessageIter all;
  dbus_message_iter_open_container(&value, DBUS_TYPE_ARRAY, "(sa(us))", &all);
  for (const PathFilter& f : filters) {
    DBusMessageIter filter, globs;
    dbus_message_iter_open_container(&all, DBUS_TYPE_STRUCT, nullptr, &filter);
    put_text(filter, f.name);
    dbus_message_iter_open_container(&filter, DBUS_TYPE_ARRAY, "(us)", &globs);
    for (const std::string& g : f.globs) {
      DBusMessageIter glob;
      dbus_message_iter_open_container(&globs, DBUS_TYPE_STRUCT, nullptr, &glob);
      dbus_message_iter_append_basic(&glob, DBUS_TYPE_UINT32, &kGlob);
      put_text(glob, g);
      dbus_message_iter_close_container(&globs, &glob);
    }
    dbus_message_iter_close_container(&filter, &globs);
    dbus_message_iter_close_container(&all, &filter);
  }
  dbus_message_iter_close_container(&value, &all);
}

// Bytes as they are, with the zero at the end that the portal expects.
void put_path(DBusMessageIter& value, const std::string& path) {
  DBusMessageIter bytes;
  const char* first = path.c_str();
  dbus_message_iter_open_container(&value, DBUS_TYPE_ARRAY, "y", &bytes);
  dbus_message_iter_append_fixed_array(&bytes, DBUS_TYPE_BYTE, &first, static_cast<int>(path.size() + 1));
  dbus_message_iter_close_container(&value, &bytes);
}

Message question(const PathWanted& wanted, const std::string& token) {
  Message m = call(kPortal, kDesktop, "org.freedesktop.portal.FileChooser", wanted.save ? "SaveFile" : "OpenFile");
  DBusMessageIter all, options;
  dbus_message_iter_init_append(m.get(), &all);
  put_text(all, wanted.parent);
  put_text(all, wanted.title);
  dbus_message_iter_open_container(&all, DBUS_TYPE_ARRAY, "{sv}", &options);
  const auto text = [&](const char* key, const std::string& what) {
    if (!what.empty()) option(options, key, "s", [&](DBusMessageIter& value) { put_text(value, what); });
  };
  text("handle_token", token);
  text("accept_label", wanted.accept);
  if (!wanted.filters.empty()) option(options, "filters", "a(sa(us))", [&](DBusMessageIter& value) { put_filters(value, wanted.filters); });
  if (!wanted.folder.empty()) option(options, "current_folder", "ay", [&](DBusMessageIter& value) { put_path(value, wanted.folder.string()); });
  // A name is any bytes on a disk, but a text here.
  if (wanted.save && dbus_validate_utf8(wanted.name.c_str(), nullptr)) text("current_name", wanted.name);
  dbus_message_iter_close_container(&all, &options);
  return m;
}

// The texts at `uris` in the results `a{sv}`; nothing where they are anything else.
std::vector<std::string> uris_of(DBusMessageIter results) {
  std::vector<std::string> uris;
  if (dbus_message_iter_get_arg_type(&results) != DBUS_TYPE_ARRAY || dbus_message_iter_get_element_type(&results) != DBUS_TYPE_DICT_ENTRY) return uris;
  DBusMessageIter entry, pair, value, item;
  for (dbus_message_iter_recurse(&results, &entry); dbus_message_iter_get_arg_type(&entry) == DBUS_TYPE_DICT_ENTRY; dbus_message_iter_next(&entry)) {
    dbus_message_iter_recurse(&entry, &pair);
    if (dbus_message_iter_get_arg_type(&pair) != DBUS_TYPE_STRING) continue;
    const char* key = nullptr;
    dbus_message_iter_get_basic(&pair, &key);
    if (std::string_view(key) != "uris" || !dbus_message_iter_next(&pair) || dbus_message_iter_get_arg_type(&pair) != DBUS_TYPE_VARIANT) continue;
    dbus_message_iter_recurse(&pair, &value);
    if (dbus_message_iter_get_arg_type(&value) != DBUS_TYPE_ARRAY) continue;
    for (dbus_message_iter_recurse(&value, &item); dbus_message_iter_get_arg_type(&item) == DBUS_TYPE_STRING; dbus_message_iter_next(&item)) {
      const char* uri = nullptr;
      dbus_message_iter_get_basic(&item, &uri);
      uris.emplace_back(uri);
    }
  }
  return uris;
}

PathAnswer answer_of(DBusMessage* response) {
  DBusMessageIter at;
  if (!dbus_message_iter_init(response, &at) || dbus_message_iter_get_arg_type(&at) != DBUS_TYPE_UINT32) return {AnswerKind::failed, {}, "its answer is not one that the portal's standard knows"};
  std::uint32_t how = 0;
  dbus_message_iter_get_basic(&at, &how);
  if (how == kCancelled) return {AnswerKind::cancelled, {}, ""};
  if (how != kChosen) return {AnswerKind::failed, {}, "it ended without an answer (response " + std::to_string(how) + ")"};
  const auto uris = dbus_message_iter_next(&at) ? uris_of(at) : std::vector<std::string>{};
  if (uris.empty()) return {AnswerKind::failed, {}, "it named no file"};
  const auto path = path_of_uri(uris.front());
  if (!path) return {AnswerKind::failed, {}, "'" + store::shown(uris.front()) + "' is no file on this machine"};
  return {AnswerKind::chosen, *path, ""};
}

// No such dialog here, or one that would not open.
PathAnswer refused_by(DBusMessage* error) {
  const std::string name = text_or_nothing(dbus_message_get_error_name(error));
  constexpr const char* kNone[] = {DBUS_ERROR_SERVICE_UNKNOWN, DBUS_ERROR_NAME_HAS_NO_OWNER, DBUS_ERROR_UNKNOWN_METHOD, DBUS_ERROR_UNKNOWN_INTERFACE, DBUS_ERROR_UNKNOWN_OBJECT, DBUS_ERROR_SPAWN_SERVICE_NOT_FOUND};
  if (std::find(std::begin(kNone), std::end(kNone), name) != std::end(kNone)) return {AnswerKind::none, {}, "no desktop portal offers one"};
  const char* text = nullptr;
  dbus_message_get_args(error, nullptr, DBUS_TYPE_STRING, &text, DBUS_TYPE_INVALID);
  return {AnswerKind::failed, {}, "the desktop portal refused (" + store::shown(text && *text ? text : name) + ")"};
}

class Talk {
 public:
  Talk(const PathWanted& wanted, const GoOn& go_on) : wanted_(wanted), go_on_(go_on) {}

  PathAnswer ask() {
    dbus_threads_init_default();
    const std::string address = bus_address();
    if (address.empty()) return {AnswerKind::none, {}, "no session bus runs"};
    dbus_connection_set_change_sigpipe(false);  // signals are the program's own business
    Error why;
    line_.reset(dbus_connection_open_private(address.c_str(), &why));
    if (!line_) return {AnswerKind::none, {}, "the session bus can't be reached (" + store::shown(text_or_nothing(why.message)) + ")"};
    dbus_connection_set_exit_on_disconnect(line_.get(), false);
    const Message hello = reply_to(call(DBUS_SERVICE_DBUS, DBUS_PATH_DBUS, DBUS_INTERFACE_DBUS, "Hello"));
    if (!hello) return no_reply("the session bus");
    const char* name = nullptr;
    if (dbus_message_get_type(hello.get()) == DBUS_MESSAGE_TYPE_ERROR || !dbus_message_get_args(hello.get(), nullptr, DBUS_TYPE_STRING, &name, DBUS_TYPE_INVALID)) return {AnswerKind::failed, {}, "the session bus refused"};

    const std::string token = new_token();
    handle_ = request_path(name, token);
    listen("type='signal',sender='" + std::string(kPortal) + "',interface='" + kRequest + "',member='Response',path='" + handle_ + "'");
    listen("type='signal',sender='" DBUS_SERVICE_DBUS "',interface='" DBUS_INTERFACE_DBUS "',member='NameOwnerChanged',arg0='" + std::string(kPortal) + "'");
    const Message opened = reply_to(question(wanted_, token));
    if (!opened) return no_reply("the desktop portal");
    if (dbus_message_get_type(opened.get()) == DBUS_MESSAGE_TYPE_ERROR) return refused_by(opened.get());
    const char* handle = nullptr;
    if (!dbus_message_get_args(opened.get(), nullptr, DBUS_TYPE_OBJECT_PATH, &handle, DBUS_TYPE_INVALID)) return {AnswerKind::failed, {}, "its answer is not one that the portal's standard knows"};
    portal_ = text_or_nothing(dbus_message_get_sender(opened.get()));
    if (handle_ != handle) {  // a portal from before 0.9 chooses it
      handle_ = handle;
      listen("type='signal',sender='" + std::string(kPortal) + "',interface='" + kRequest + "',member='Response',path='" + handle_ + "'");
    }
    return wait_for_person();
  }

 private:
  enum class Turn { on, given_up, lost };

  // Hears what there is, and waits a little where that was nothing.
  Turn step() {
    if (!go_on_(0)) return Turn::given_up;
    const bool open = dbus_connection_read_write(line_.get(), kStep_ms);
    while (Message m{dbus_connection_pop_message(line_.get())}) heard_.push_back(std::move(m));
    return open && dbus_connection_get_is_connected(line_.get()) ? Turn::on : Turn::lost;
  }

  // Null where none came: because of the person, the bus's end, or since it took too long.
  Message reply_to(const Message& asked) {
    dbus_uint32_t serial = 0;
    dbus_connection_send(line_.get(), asked.get(), &serial);
    const std::int64_t until_ns = threads::steady_ns() + wanted_.patience_s * std::int64_t{1'000'000'000};
    for (;;) {
      turn_ = step();
      const auto reply = std::find_if(heard_.begin(), heard_.end(), [&](const Message& m) { return dbus_message_get_reply_serial(m.get()) == serial; });
      if (reply != heard_.end()) {
        Message found = std::move(*reply);
        heard_.erase(reply);
        return found;
      }
      // What is kept may be the answer itself, which can be here before the reply that says whose it is.
      std::erase_if(heard_, [](const Message& m) { return !dbus_message_is_signal(m.get(), kRequest, "Response"); });
      if (heard_.size() > kMostHeard) heard_.erase(heard_.begin(), heard_.end() - kMostHeard);
      if (turn_ != Turn::on || threads::steady_ns() > until_ns) return nullptr;
    }
  }

  PathAnswer no_reply(const std::string& whose) {
    if (turn_ == Turn::given_up) return close();
    if (turn_ == Turn::lost) return {AnswerKind::failed, {}, "the session bus ended"};
    close();
    return {AnswerKind::failed, {}, whose + " does not answer"};
  }

  PathAnswer wait_for_person() {
    for (;;) {
      for (const Message& m : heard_) {
        if (is_from(m.get(), portal_, handle_) && dbus_message_is_signal(m.get(), kRequest, "Response")) return answer_of(m.get());
        const char *name = nullptr, *before = nullptr, *after = nullptr;
        if (dbus_message_is_signal(m.get(), DBUS_INTERFACE_DBUS, "NameOwnerChanged") && is_from(m.get(), DBUS_SERVICE_DBUS, DBUS_PATH_DBUS) &&
            dbus_message_get_args(m.get(), nullptr, DBUS_TYPE_STRING, &name, DBUS_TYPE_STRING, &before, DBUS_TYPE_STRING, &after, DBUS_TYPE_INVALID) && before == portal_)
          return {AnswerKind::failed, {}, "the desktop portal ended meanwhile"};
      }
      heard_.clear();
      switch (step()) {
        case Turn::on: break;
        case Turn::given_up: return close();
        case Turn::lost: return {AnswerKind::failed, {}, "the session bus ended meanwhile"};
      }
    }
  }

  // Anyone on the bus can send us anything: only the portal's own word counts.
  static bool is_from(DBusMessage* m, const std::string& sender, const std::string& path) { return dbus_message_has_sender(m, sender.c_str()) && dbus_message_has_path(m, path.c_str()); }

  void listen(const std::string& rule) { dbus_bus_add_match(line_.get(), rule.c_str(), nullptr); }

  // The person needn't see to it that a dialog goes which nobody listens to any more.
  PathAnswer close() {
    if (!handle_.empty()) {
      const Message m = call(kPortal, handle_.c_str(), kRequest, "Close");
      dbus_message_set_no_reply(m.get(), true);
      dbus_message_set_auto_start(m.get(), false);
      dbus_connection_send(line_.get(), m.get(), nullptr);
      for (int i = 0; i < 10 && dbus_connection_has_messages_to_send(line_.get()) && dbus_connection_read_write(line_.get(), kStep_ms); ++i) {}
    }
    return {AnswerKind::cancelled, {}, ""};
  }

  const PathWanted& wanted_;
  const GoOn& go_on_;
  std::unique_ptr<DBusConnection, CloseLine> line_;
  std::vector<Message> heard_;
  Turn turn_ = Turn::on;
  std::string handle_, portal_;
};

}  // namespace

PathAnswer ask_portal(const PathWanted& wanted, const GoOn& go_on) { return Talk(wanted, go_on).ask(); }

}  // namespace mien::editor
#endif
