// IPv4 addresses and lists of them. Dotted notation and prefixes: RFC 791, RFC 4632.
#include "live/address.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace mien::live {
namespace {

TEST(Address, IsReadAndWritten) {
  EXPECT_EQ(parse_ip("127.0.0.1"), kLoopback);
  EXPECT_EQ(parse_ip("0.0.0.0"), 0u);
  EXPECT_EQ(parse_ip("255.255.255.255"), 0xFFFF'FFFFu);
  EXPECT_EQ(ip_text(0xC0A8'0107), "192.168.1.7");
  EXPECT_EQ(to_text(NetAddress{0x0A00'0007, 9000}), "10.0.0.7:9000");
  for (const char* text : {"", "1.2.3", "1.2.3.4.5", "1.2.3.256", "1.2.3.", ".1.2.3", "1..2.3", "a.b.c.d", "1.2.3.4 ", "1.2.3.-4", "1.2.3.0004"}) EXPECT_FALSE(parse_ip(text)) << text;
}

TEST(Address, LoopbackIsAllOf127) {
  EXPECT_TRUE(is_loopback(kLoopback));
  EXPECT_TRUE(is_loopback(0x7FFF'FFFF));
  EXPECT_FALSE(is_loopback(0));
  EXPECT_FALSE(is_loopback(0x8000'0001));
}

TEST(AddressList, HasWhatItsRangesHave) {
  const auto list = parse_ranges("10.0.0.7, 192.168.1.0/24,172.16.0.0/12", "--allow");
  ASSERT_TRUE(list);
  EXPECT_THAT(*list, testing::SizeIs(3));
  for (const char* in : {"10.0.0.7", "192.168.1.0", "192.168.1.255", "172.16.0.1", "172.31.255.255"}) EXPECT_TRUE(allowed(*list, *parse_ip(in))) << in;
  for (const char* out : {"10.0.0.8", "192.168.2.0", "192.168.0.255", "172.32.0.0", "127.0.0.1", "0.0.0.0"}) EXPECT_FALSE(allowed(*list, *parse_ip(out))) << out;
  EXPECT_TRUE(allowed(*parse_ranges("0.0.0.0/0", ""), 0x0808'0808));
  EXPECT_TRUE(allowed(*parse_ranges(" ", ""), 0x0808'0808)) << "an empty list has all";
}

TEST(AddressList, AMistakeIsNamed) {
  for (const char* text : {"10.0.0.7,", "10.0.0.7/33", "10.0.0.7/", "x", "10.0.0.7 10.0.0.8", ",", "10.0.0.0/-1"}) {
    const auto list = parse_ranges(text, "--allow");
    ASSERT_FALSE(list) << text;
    EXPECT_EQ(list.problem().place, "--allow");
    EXPECT_FALSE(list.problem().cure.empty());
  }
}

}  // namespace
}  // namespace mien::live
