#include "firmware/bench.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <sstream>
#include <stdexcept>

#include "wire/framing.hpp"

namespace mien::firmware {
namespace {

const std::string kImage = MIEN_FIRMWARE_IMAGE, kNode = MIEN_NODE, kModules = MIEN_NODE_MODULES;
const std::string kScript = MIEN_SOURCE_DIR "/tests/firmware/bench.mjs";

std::vector<std::uint8_t> from_hex(const std::string& hex) {
  std::vector<std::uint8_t> bytes;
  for (std::size_t i = 0; i + 1 < hex.size(); i += 2) bytes.push_back(static_cast<std::uint8_t>(std::stoi(hex.substr(i, 2), nullptr, 16)));
  return bytes;
}

std::string to_hex(const std::vector<std::uint8_t>& bytes) {
  static const char digits[] = "0123456789abcdef";
  std::string text;
  for (const auto byte : bytes) text += digits[byte >> 4], text += digits[byte & 15];
  return text;
}

std::vector<std::uint8_t> packet_of(const std::vector<std::uint8_t>& bytes) {
  wire::Deframer deframer;
  for (const auto byte : bytes)
    if (deframer.push(byte)) return {deframer.packet().data, deframer.packet().data + deframer.packet().size};
  return {};
}

void note(Events& events, const std::string& text) {
  std::istringstream in(text);
  std::string word;
  in >> word;
  if (word == "pulse") {
    Pulse p;
    in >> p.board >> p.output >> p.rise_us >> p.width_us;
    events.pulses.push_back(p);
  } else if (word == "level") {
    Level l;
    in >> l.board >> l.gpio >> l.high >> l.at_us;
    events.levels.push_back(l);
  } else if (word == "reset") {
    Reset r;
    in >> r.board >> r.at_us;
    events.resets.push_back(r);
  } else if (word == "heard") {
    Heard h;
    std::string hex;
    in >> h.at_us >> h.board >> hex;
    h.bytes = from_hex(hex);
    h.packet = packet_of(h.bytes);
    events.heard.push_back(std::move(h));
  } else {
    throw std::runtime_error("The emulated boards say: " + text);
  }
}

}  // namespace

std::string missing() {
  if (kImage.empty()) return "no firmware was built: it takes arm-none-eabi-g++ (package gcc-arm-none-eabi)";
  if (kNode.empty()) return "node is missing (packages nodejs and npm)";
  if (!std::filesystem::exists(kModules + "/node_modules/rp2040js")) return "the emulator is missing: bash tests/run.sh installs it into " + kModules;
  return "";
}

std::vector<Pulse> Events::of(int board, int output) const {
  std::vector<Pulse> some;
  for (const Pulse& p : pulses)
    if (p.board == board && p.output == output) some.push_back(p);
  return some;
}

Bench::Bench(std::vector<std::string> words) {
  int in[2], out[2];
  if (::pipe(in) != 0 || ::pipe(out) != 0) throw std::runtime_error("no pipes");
  std::vector<std::string> all{kNode, kScript, kImage};
  all.insert(all.end(), words.begin(), words.end());
  std::vector<char*> argv;
  for (auto& word : all) argv.push_back(word.data());
  argv.push_back(nullptr);
  ::setenv("MIEN_NODE_MODULES", kModules.c_str(), 1);
  process_ = ::fork();
  if (process_ == 0) {
    ::dup2(in[0], 0), ::dup2(out[1], 1);
    for (const int fd : {in[0], in[1], out[0], out[1]}) ::close(fd);
    ::execv(kNode.c_str(), argv.data());
    ::_exit(127);
  }
  ::close(in[0]), ::close(out[1]);
  to_ = in[1], from_ = out[0];
  ::signal(SIGPIPE, SIG_IGN);  // a dead emulator shows when it is read from
}

Bench::~Bench() {
  ::close(to_), ::close(from_);
  ::waitpid(process_, nullptr, 0);
}

std::string Bench::line() {
  for (;;) {
    if (const auto end = buffer_.find('\n'); end != std::string::npos) {
      std::string one = buffer_.substr(0, end);
      buffer_.erase(0, end + 1);
      return one;
    }
    char chunk[65536];
    const auto count = ::read(from_, chunk, sizeof chunk);
    if (count <= 0) throw std::runtime_error("The emulated boards ended");
    buffer_.append(chunk, static_cast<std::size_t>(count));
  }
}

void Bench::tell(const std::string& text) {
  const std::string whole = text + "\n";
  for (std::size_t sent = 0; sent < whole.size();) {
    const auto count = ::write(to_, whole.data() + sent, whole.size() - sent);
    if (count <= 0) throw std::runtime_error("The emulated boards ended: " + line());
    sent += static_cast<std::size_t>(count);
  }
}

Events Bench::run(double us) {
  std::ostringstream command;
  command.precision(17);
  command << "run " << us;
  tell(command.str());
  Events events;
  for (;;) {
    const std::string text = line();
    if (text.starts_with("ok ")) {
      now_us_ = std::stod(text.substr(3));
      return events;
    }
    note(events, text);
  }
}

void Bench::send_bytes(const std::vector<std::uint8_t>& bytes) { tell("send " + to_hex(bytes)); }

void Bench::put_into_flash(int board, std::uint32_t offset, const std::vector<std::uint8_t>& bytes) {
  tell("flash " + std::to_string(board) + " " + std::to_string(offset) + " " + to_hex(bytes));
}

std::string Bench::ask_line(const std::string& command) {
  tell(command);
  return line();
}

Bench::Stats Bench::stats(int board) {
  std::istringstream in(ask_line("stats " + std::to_string(board)));
  std::string word;
  Stats s;
  in >> word >> board >> s.overruns_up >> s.overruns_down >> s.overwritten >> s.resets;
  return s;
}

Bench::Hops Bench::hops() {
  std::istringstream in(ask_line("hops"));
  std::string word;
  Hops h;
  in >> word >> h.median_us >> h.most_us;
  return h;
}

void Bench::throw_no_answer() { throw std::runtime_error("No answer in time"); }

}  // namespace mien::firmware
