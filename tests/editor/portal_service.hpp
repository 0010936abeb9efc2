// A session bus of the test's own, and a desktop portal on it that answers as it is told; for where libdbus-1 and dbus-daemon are.
#pragma once
#include <dbus/dbus.h>

#include <atomic>
#include <filesystem>
#include <functional>
#include <map>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "support/folder.hpp"

namespace mien::tests {

/// DBUS_SESSION_BUS_ADDRESS names it while it lives. It starts no service: what is not there isn't there.
class PrivateBus {
 public:
  PrivateBus();
  ~PrivateBus();
  PrivateBus(const PrivateBus&) = delete;
  PrivateBus& operator=(const PrivateBus&) = delete;
  /// Why there is none; empty: it runs.
  const std::string& missing() const noexcept { return missing_; }
  const std::string& address() const noexcept { return address_; }
  void end();

 private:
  support::Folder folder_;
  std::string missing_, address_;
  int pid_ = -1;
};

/// Somebody on that bus, with a thread of their own.
class FakePortal {
 public:
  /// A call of FileChooser, as it arrived.
  struct Asked {
    std::string method, signature, sender, parent, title;
    std::map<std::string, std::string> types;   ///< of each option
    std::map<std::string, std::string> values;  ///< of those that are texts or bytes; bytes with their zero
    std::vector<std::pair<std::string, std::vector<std::string>>> filters;
    /// Where its Request belongs.
    std::string handle() const;
  };
  /// What is to be done then, in that thread; `call` is to be replied to.
  using Answer = std::function<void(FakePortal&, const Asked&, DBusMessage* call)>;

  /// Has the portal's name, unless it is a stranger.
  explicit FakePortal(const std::string& address, Answer answer = {}, bool stranger = false);
  ~FakePortal();
  FakePortal(const FakePortal&) = delete;
  FakePortal& operator=(const FakePortal&) = delete;

  void reply(DBusMessage* call, const std::string& handle);
  void refuse(DBusMessage* call, const char* error, const char* text);
  /// The signal Response of that Request, to that caller alone, as the portal sends it; returns when the bus has had it. In that thread; a stranger's in any one.
  void respond(const std::string& handle, const std::string& to, std::uint32_t response, const std::vector<std::string>& uris);
  /// Hangs up, as a process that ends; from within an answer.
  void die() { dead_ = true; }

  std::vector<Asked> asked() const;
  /// Does it in that thread, soon.
  void later(std::function<void()> what);
  /// To be told, in that thread, when a Request is closed. Before anything is asked.
  void tell_closed(std::function<void()> told) { told_closed_ = std::move(told); }
  std::vector<std::string> closed() const;  ///< Requests that were told to close

 private:
  void serve();
  void hear(DBusMessage* m);
  DBusConnection* line_ = nullptr;
  Answer answer_;
  std::function<void()> told_closed_;
  mutable std::mutex mutex_;
  std::vector<std::function<void()>> later_;
  std::vector<Asked> asked_;
  std::vector<std::string> closed_;
  std::atomic<bool> dead_ = false, over_ = false;
  std::jthread thread_;
};

}  // namespace mien::tests
