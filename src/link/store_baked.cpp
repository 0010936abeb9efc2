#include "link/store_baked.hpp"

#include <algorithm>
#include <optional>

#include "link/port.hpp"
#include "threads/steady.hpp"
#include "wire/baked.hpp"
#include "wire/codec.hpp"
#include "wire/crc16.hpp"

namespace mien::link {
namespace {

constexpr std::int64_t kAnswer_ns = 150'000'000;
constexpr std::int64_t kSector_ns = 500'000'000;    ///< to erase 4 KiB of flash: data sheets allow 400 ms
constexpr std::int64_t kRest_ns = 70'000'000'000;   ///< the longest that a board may creep to rest
constexpr int kTries = 10;

/// Requests and answers, one at a time, over a port of its own.
class Talk {
 public:
  Talk(PortPtr port, std::string name, const Wake& cancel) : port_(std::move(port)), name_(std::move(name)), cancel_(cancel) {}

  show::Finding finding(const BakedImage& image, std::string what, std::string cure) const {
    return {show::Severity::error, name_, "board " + image.board + " (address " + std::to_string(image.address) + ")", std::move(what), std::move(cure)};
  }
  show::Finding silent(const BakedImage& image) const {
    if (port_->lost()) return *port_->lost();
    if (cancel_.rung()) return finding(image, "Storing was interrupted", "Bake again: a show that is only partly stored does not play");
    return finding(image, "It does not answer", "Check its supply and the cable to it, and that no other program has the port");
  }

  /// Sends it until an answer of this kind comes, with the same token; nothing where none does or the board refuses, and refused() says which.
  template <class Answer, class Request>
  std::optional<Answer> ask(Request request, std::int64_t patience_ns = kAnswer_ns, int tries = kTries) {
    refusal_.reset();
    request.token = token_ = static_cast<std::uint8_t>(token_ % 255 + 1);
    std::uint8_t packet[wire::kMaxOnWire];
    const std::size_t size = wire::encode(request, packet, sizeof packet);
    for (int n = 0; n < tries && !port_->lost() && !cancel_.rung(); ++n) {
      send({packet, size});
      Answer answer;
      const std::int64_t until = threads::steady_ns() + patience_ns;
      while (hear(until)) {
        const wire::Bytes heard = deframer_.packet();
        wire::Refusal refusal;
        if (wire::decode(heard, answer) && answer.token == token_ && answer.address == request.address) return answer;
        if (wire::decode(heard, refusal) && refusal.token == token_ && refusal.address == request.address) {
          refusal_ = refusal;
          return std::nullopt;
        }
      }
    }
    return std::nullopt;
  }
  const std::optional<wire::Refusal>& refused() const noexcept { return refusal_; }

 private:
  void send(std::span<const std::uint8_t> bytes) {
    while (!bytes.empty() && !port_->lost() && !cancel_.rung()) {
      const std::size_t count = port_->write(bytes);
      bytes = bytes.subspan(count);
      if (count == 0) wait(nullptr, cancel_, 1'000'000);
    }
  }
  /// Until a whole packet is there; false when the time is up.
  bool hear(std::int64_t until_ns) {
    for (;;) {
      while (taken_ < filled_)
        if (deframer_.push(buffer_[taken_++])) return true;
      taken_ = 0;
      filled_ = port_->read(buffer_);
      if (filled_ > 0) continue;
      port_->check();
      const std::int64_t left = until_ns - threads::steady_ns();
      if (left <= 0 || port_->lost() || cancel_.rung()) return false;
      wait(port_.get(), cancel_, left);
    }
  }

  PortPtr port_;
  std::string name_;
  const Wake& cancel_;
  wire::Deframer deframer_;
  std::uint8_t buffer_[4096]{};
  std::size_t taken_ = 0, filled_ = 0;
  std::uint8_t token_ = 0;
  std::optional<wire::Refusal> refusal_;
};

show::Finding refused(Talk& talk, const BakedImage& image) {
  if (!talk.refused()) return talk.silent(image);
  using wire::Reason;
  const Reason reason = talk.refused()->reason;
  const char* cure = reason == Reason::no_room        ? "Bake a shorter show, or store on a board with more memory"
                     : reason == Reason::unknown_type ? "Install newer firmware on the board"
                     : reason == Reason::version      ? "Install the firmware that came with this program"
                                                      : "Switch the boards off and on, then bake again";
  return talk.finding(image, std::string("It refuses: ") + wire::name(reason), cure);
}

/// Greets a board and waits until it drives nothing.
std::optional<show::Finding> settle(Talk& talk, const BakedImage& image) {
  const auto address = static_cast<std::uint8_t>(image.address);
  const auto said = talk.ask<wire::Description>(wire::Hello{address, 0, true});
  if (!said) return refused(talk, image);
  wire::State state = said->state;
  const std::int64_t until = threads::steady_ns() + kRest_ns;
  while (state != wire::State::unconfigured && state != wire::State::ready) {
    const auto told = talk.ask<wire::Acknowledgement>(wire::Order{wire::Type::disarm, address, 0});
    if (!told) return refused(talk, image);
    state = told->state;
    if (threads::steady_ns() > until) return talk.finding(image, "It does not come to rest", "Switch the boards off and on, then bake again");
  }
  return std::nullopt;
}

std::optional<show::Finding> store(Talk& talk, const BakedImage& image, const std::function<void(std::size_t)>& stored) {
  const auto address = static_cast<std::uint8_t>(image.address);
  const auto size = static_cast<std::uint32_t>(image.bytes.size());
  if (!talk.ask<wire::Acknowledgement>(wire::StoreBegin{address, 0, size}, (2 + size / 4096) * kSector_ns, 3)) return refused(talk, image);
  for (std::uint32_t at = 0; at < size;) {
    wire::StoreChunk chunk;
    chunk.address = address;
    chunk.offset = at;
    chunk.count = static_cast<std::uint8_t>(std::min<std::uint32_t>(size - at, wire::kMaxChunk));
    std::copy_n(image.bytes.begin() + at, chunk.count, chunk.bytes);
    if (!talk.ask<wire::Acknowledgement>(chunk)) return refused(talk, image);
    at += chunk.count;
    stored(chunk.count);
  }
  const auto whole = talk.ask<wire::Playback>(wire::StoreCommit{address, 0, wire::crc16(image.bytes.data(), image.bytes.size())}, 10 * kAnswer_ns);
  if (!whole) return refused(talk, image);
  if (whole->fault != wire::BakeFault::none)
    return talk.finding(image, std::string("It says of what it stored: ") + wire::name(whole->fault), "Bake again; if this stays, the board's memory is worn");
  return std::nullopt;
}

show::Result<PortPtr> open(const std::string& text, const Wake& cancel) {
  const auto name = parse_port(text);
  if (!name) return name.problem();
  if (name->kind == PortName::Kind::tcp) return open_tcp(*name, text, cancel);
  if (name->kind == PortName::Kind::serial) return open_serial(*name, text);
  return show::Finding{show::Severity::error, text, "", "Simulated boards forget everything when this command ends",
                       "Store on real boards, or on those of mien board --listen"};
}

}  // namespace

std::optional<show::Finding> store_baked(const std::string& port, std::span<const BakedImage> images, const Wake& cancel,
                                         const std::function<void(std::size_t, std::size_t)>& progress) {
  auto opened = open(port, cancel);
  if (!opened) return opened.problem();
  Talk talk(std::move(*opened), port, cancel);
  std::size_t done = 0, all = 0;
  for (const auto& image : images) all += image.bytes.size();
  for (const auto& image : images)
    if (auto problem = settle(talk, image)) return problem;
  for (const auto& image : images)
    if (auto problem = store(talk, image, [&](std::size_t count) { if (progress) progress(done += count, all); })) return problem;
  return std::nullopt;
}

}  // namespace mien::link
