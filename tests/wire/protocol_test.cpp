// PROTOCOL.md against the program: its examples, and a decoder written from it in another language.
#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "wire/json.hpp"
#include "wire/random_messages.hpp"

namespace mien::wire {
namespace {

using examples::Packet;

std::vector<std::pair<std::string, std::string>> examples_in_the_page() {
  std::ifstream page(MIEN_SOURCE_DIR "/src/wire/PROTOCOL.md");
  std::vector<std::pair<std::string, std::string>> found;
  const std::string fence = "```example ";
  for (std::string line; std::getline(page, line);) {
    if (line.rfind(fence, 0) != 0) continue;
    std::string bytes;
    for (std::string row; std::getline(page, row) && row != "```";) bytes += (bytes.empty() ? "" : " ") + row;
    found.emplace_back(line.substr(fence.size()), bytes);
  }
  return found;
}

TEST(ProtocolPage, ShowsForEveryMessageTheBytesThatTheProgramSends) {
  std::vector<std::pair<std::string, std::string>> expected;
  for (const auto& example : examples::all()) expected.emplace_back(example.name, examples::hex(example.bytes));
  EXPECT_EQ(examples_in_the_page(), expected);
}

/// What tests/reference/decode.py prints for a capture.
std::vector<std::string> decoded_elsewhere(const Packet& line) {
  const std::filesystem::path path =
      std::filesystem::temp_directory_path() / ("mien-capture-" + std::to_string(::getpid()) + ".bin");
  std::ofstream(path, std::ios::binary).write(reinterpret_cast<const char*>(line.data()), static_cast<long>(line.size()));
  const std::string command = "python3 '" MIEN_SOURCE_DIR "/tests/reference/decode.py' '" + path.string() + "'";
  std::FILE* pipe = ::popen(command.c_str(), "r");
  std::string text;
  char buffer[4096];
  for (std::size_t n; pipe && (n = std::fread(buffer, 1, sizeof buffer, pipe)) > 0;) text.append(buffer, n);
  EXPECT_TRUE(pipe && ::pclose(pipe) == 0) << command;
  std::filesystem::remove(path);
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string one; std::getline(in, one);) lines.push_back(one);
  return lines;
}

struct Capture {
  Packet line;
  std::vector<std::string> expected;

  template <class Message>
  void add(const Message& message) {
    const Packet bytes = examples::encoded(message);
    line.insert(line.end(), bytes.begin(), bytes.end());
    expected.push_back(json(message));
  }
};

TEST(ReferenceDecoder, ReadsEveryFieldOfWhatTheProgramSends) {
  RandomMessages random(1);
  Capture capture;
  for (int round = 0; round < 200; ++round) {
    capture.add(random.hello());
    capture.add(random.configure());
    capture.add(random.order());
    capture.add(random.heartbeat());
    capture.add(random.clock());
    capture.add(random.frame());
    capture.add(random.description());
    capture.add(random.acknowledgement());
    capture.add(random.state_report());
    capture.add(random.refusal());
    capture.add(random.store_begin());
    capture.add(random.store_chunk());
    capture.add(random.store_commit());
    capture.add(random.ask_playback());
    capture.add(random.lead());
    capture.add(random.playback());
  }
  EXPECT_EQ(decoded_elsewhere(capture.line), capture.expected);
}

TEST(ReferenceDecoder, DropsWhatTheProgramDrops) {
  RandomMessages random(2);
  Packet line;
  for (int n = 0; n < 60'000; ++n) line.push_back(random.u8());
  line.push_back(kDelimiter);
  const Packet good = examples::encoded(examples::frame());
  line.insert(line.end(), good.begin(), good.end());
  Packet flipped = good;
  flipped[7] ^= 0x20;
  line.insert(line.end(), flipped.begin(), flipped.end());

  Deframer deframer;
  for (const std::uint8_t byte : line) deframer.push(byte);
  const auto& c = deframer.counters();
  std::size_t dropped = 0;
  const std::vector<std::string> lines = decoded_elsewhere(line);
  for (const std::string& one : lines) dropped += one.find("\"dropped\"") != std::string::npos;
  EXPECT_EQ(lines.size(), c.packets + dropped);
  EXPECT_EQ(dropped, c.bad_crc + c.malformed + c.overlong);
  ASSERT_GE(lines.size(), 2u);
  EXPECT_EQ(lines[lines.size() - 2], json(examples::frame()));
}

TEST(ReferenceDecoder, NamesAVersionThatItDoesNotSpeak) {
  const Packet line = [] {
    const std::uint8_t packet[] = {7, 0x10, 1, 2, 3, 4};
    Packet out(kMaxOnWire);
    out.resize(seal({packet, sizeof packet}, out.data(), out.size()));
    return out;
  }();
  EXPECT_EQ(decoded_elsewhere(line), std::vector<std::string>{R"({"other_version": 7, "type": 16})"});
}

}  // namespace
}  // namespace mien::wire
