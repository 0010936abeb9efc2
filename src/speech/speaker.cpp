#include "speech/speaker.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <csignal>
#include <cstring>
#include <sstream>
#include <thread>
#include <utility>
#include <vector>

namespace mien::speech {
namespace {

using show::Finding;
using show::Severity;
using show::Time;

constexpr std::size_t kMostBytes = 1u << 30;

// Longer ones first: the first that the name begins with counts.
constexpr std::array<std::pair<std::string_view, std::string_view>, 86> kIpa{{
    {"tʃ", "CH"}, {"dʒ", "JH"}, {"tɕ", "CH"}, {"dʑ", "JH"}, {"ts", "S"}, {"dz", "Z"}, {"pf", "F"},
    {"eɪ", "EY"}, {"aɪ", "AY"}, {"aʊ", "AW"}, {"ɔɪ", "OY"}, {"ɔʏ", "OY"}, {"oʊ", "OW"}, {"əʊ", "OW"}, {"ɪə", "IH"}, {"eə", "EH"}, {"ʊə", "UH"},
    {"p", "P"}, {"b", "B"}, {"m", "M"}, {"ɱ", "M"}, {"f", "F"}, {"v", "V"}, {"ʋ", "V"}, {"ɸ", "F"}, {"β", "V"}, {"θ", "TH"}, {"ð", "DH"},
    {"t", "T"}, {"d", "D"}, {"ʈ", "T"}, {"ɖ", "D"}, {"k", "K"}, {"g", "G"}, {"ɡ", "G"}, {"q", "K"}, {"c", "K"}, {"ɟ", "G"}, {"x", "HH"}, {"χ", "HH"}, {"ɣ", "G"}, {"ç", "SH"},
    {"ʃ", "SH"}, {"ʒ", "ZH"}, {"ɕ", "SH"}, {"ʑ", "ZH"}, {"ʂ", "SH"}, {"ʐ", "ZH"}, {"s", "S"}, {"z", "Z"}, {"n", "N"}, {"ɲ", "N"}, {"ɳ", "N"}, {"ŋ", "NG"},
    {"l", "L"}, {"ɫ", "L"}, {"ɭ", "L"}, {"ʎ", "L"}, {"ɬ", "L"}, {"r", "R"}, {"ɹ", "R"}, {"ɾ", "D"}, {"ʁ", "R"}, {"ʀ", "R"}, {"ɽ", "R"}, {"h", "HH"}, {"ɦ", "HH"}, {"j", "Y"}, {"w", "W"}, {"ɥ", "W"},
    {"i", "IY"}, {"ɪ", "IH"}, {"ɨ", "IH"}, {"y", "UW"}, {"ʏ", "UH"}, {"e", "EH"}, {"ɛ", "EH"}, {"æ", "AE"}, {"a", "AA"}, {"ɑ", "AA"}, {"ɒ", "AO"}, {"ɔ", "AO"}, {"o", "OW"}, {"u", "UW"}, {"ʊ", "UH"}, {"ʌ", "AH"}}};
constexpr std::array<std::pair<std::string_view, std::string_view>, 9> kMoreIpa{{{"ə", "AH"}, {"ɐ", "AH"}, {"ɜ", "ER"}, {"ɚ", "ER"}, {"ɝ", "ER"}, {"ø", "UH"}, {"œ", "UH"}, {"ɯ", "UH"}, {"ɤ", "AH"}}};

struct Pipes { int in[2] = {-1, -1}, out[2] = {-1, -1}; };

// Writes the text to a child and reads all that it says; its exit code, or -1 where it didn't start.
int run(const std::string& program, const std::vector<std::string>& words, const std::string& input, std::string& output) {
  Pipes pipes;
  if (::pipe(pipes.in) != 0 || ::pipe(pipes.out) != 0) return -1;
  const pid_t child = ::fork();
  if (child < 0) return -1;
  if (child == 0) {
    ::dup2(pipes.in[0], 0), ::dup2(pipes.out[1], 1);
    for (const int file : {pipes.in[0], pipes.in[1], pipes.out[0], pipes.out[1]}) ::close(file);
    std::vector<char*> arguments{const_cast<char*>(program.c_str())};
    for (const auto& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
    arguments.push_back(nullptr);
    ::execv(program.c_str(), arguments.data());
    ::_exit(127);
  }
  ::close(pipes.in[0]), ::close(pipes.out[1]);
  std::thread writer([&] {
    std::size_t sent = 0;
    while (sent < input.size()) {
      const auto n = ::write(pipes.in[1], input.data() + sent, input.size() - sent);
      if (n <= 0) break;
      sent += static_cast<std::size_t>(n);
    }
    ::close(pipes.in[1]);
  });
  std::array<char, 65536> block;
  for (ssize_t n; output.size() < kMostBytes && (n = ::read(pipes.out[0], block.data(), block.size())) > 0;) output.append(block.data(), static_cast<std::size_t>(n));
  ::close(pipes.out[0]);
  writer.join();
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

// The bytes of `count` characters of UTF-8, `from` characters in.
std::string characters(std::string_view text, int from, int count) {
  std::string out;
  int at = -1;
  for (const char c : text) {
    if ((static_cast<unsigned char>(c) & 0xC0) != 0x80) ++at;
    if (at >= from && at < from + count) out += c;
  }
  return out;
}

bool parse(const std::string& said, const std::string& text, Speech& speech) {
  struct Event { std::int64_t sample; std::string phone; int word; };
  std::vector<Event> events;
  std::vector<std::int64_t> word_at;
  int rate = 0, word = -1;
  std::size_t at = 0, count = 0;
  bool have_samples = false;
  while (!have_samples && at < said.size()) {
    const std::size_t end = std::min(said.find('\n', at), said.size());
    std::istringstream line(said.substr(at, end - at));
    at = end + 1;
    std::string kind;
    line >> kind;
    if (kind == "rate") line >> rate;
    else if (kind == "samples") line >> count, have_samples = true;
    else if (kind == "word") {
      int from = 0, length = 0;
      std::int64_t sample = 0;
      if (line >> sample >> from >> length && from > 0) word = static_cast<int>(speech.alignment.words.size()), speech.alignment.words.push_back({{}, characters(text, from - 1, length), 1, Origin::given});
    } else if (kind == "phone") {
      Event event{0, {}, word};
      std::string name;
      line >> event.sample >> name;
      event.phone = phone_of_ipa(name);
      events.push_back(std::move(event));
    }
  }
  if (rate <= 0 || !have_samples || count == 0 || at + 2 * count > said.size()) return false;
  std::vector<float> samples(count);
  for (std::size_t n = 0; n < count; ++n) {
    std::int16_t value;
    std::memcpy(&value, said.data() + at + 2 * n, 2);
    samples[n] = static_cast<float>(value) / 32768.0f;
  }
  speech.recording = recording_of(samples, 1, rate);
  auto& a = speech.alignment;
  a.length = speech.recording.length();
  const auto time_of = [&](std::int64_t sample) { return std::min(a.length, show::from_seconds(static_cast<double>(sample) / rate)); };
  for (std::size_t n = 0; n < events.size(); ++n) {
    const Time begin = std::max(time_of(events[n].sample), a.phones.empty() ? Time{0} : a.phones.back().range.end), end = n + 1 < events.size() ? time_of(events[n + 1].sample) : a.length;
    if (events[n].phone.empty() || end <= begin) continue;
    a.phones.push_back({{begin, end}, events[n].phone, 1, events[n].word});
    if (events[n].word < 0) continue;
    auto& range = a.words[static_cast<std::size_t>(events[n].word)].range;
    if (range.empty()) range.begin = begin;
    range.end = end;
  }
  return !a.phones.empty();
}

}  // namespace

std::string phone_of_ipa(std::string_view name) {
  for (const char* mark : {"ˈ", "ˌ"})
    while (name.starts_with(mark)) name.remove_prefix(std::strlen(mark));
  for (const auto& [ipa, phone] : kIpa)
    if (name.starts_with(ipa)) return std::string(phone);
  for (const auto& [ipa, phone] : kMoreIpa)
    if (name.starts_with(ipa)) return std::string(phone);
  return {};
}

show::Result<Speech> speak(const std::filesystem::path& program, const std::string& language, int words_per_minute, const std::string& text) {
  std::error_code none;
  if (!std::filesystem::exists(program, none))
    return Finding{Severity::error, program.string(), "", "the program that speaks other languages is not there", "Install libespeak-ng-dev and espeak-ng-data, then build Mien again."};
  std::signal(SIGPIPE, SIG_IGN);  // a child that ends early is told by its exit code
  std::string said;
  const int code = run(program.string(), {language, std::to_string(words_per_minute)}, text, said);
  if (code == 1) return Finding{Severity::error, "", "--language", "espeak-ng has no language '" + language + "'", "espeak-ng --voices lists those that it has: de, fr, es, ..."};
  Speech speech;
  if (code != 0 || !parse(said, text, speech)) return Finding{Severity::error, "", "text", "espeak-ng could not speak it in '" + language + "'", "Check the language, and that espeak-ng-data is installed."};
  return speech;
}

}  // namespace mien::speech
