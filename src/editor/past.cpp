#include "editor/past.hpp"

#include <algorithm>

namespace mien::editor {

Packed::Packed(const show::ShowPtr& show, const show::Show& beside) : rest_(*show), same_(show) {
  rest_.channels.clear();
  channels_.reserve(show->channels.size());
  for (std::size_t i = 0; i < show->channels.size(); ++i) channels_.push_back(part_of(show->channels[i], i, beside));
}

Packed::Part Packed::part_of(const show::ChannelPtr& channel, std::size_t index, const show::Show& beside) {
  Part part;
  const auto& others = beside.channels;
  // Most stand where they stood.
  if (index >= others.size() || others[index]->control != channel->control)
    index = static_cast<std::size_t>(std::find_if(others.begin(), others.end(), [&](const auto& c) { return c->control == channel->control; }) - others.begin());
  if (index == others.size()) return part.whole = channel, part;
  part.of = index;
  if (others[index] == channel) return part.shared = true, part;
  const auto &mine = channel->keys, &theirs = others[index]->keys;
  const std::size_t both = std::min(mine.size(), theirs.size());
  while (part.head < both && mine[part.head] == theirs[part.head]) ++part.head;
  while (part.tail < both - part.head && mine[mine.size() - 1 - part.tail] == theirs[theirs.size() - 1 - part.tail]) ++part.tail;
  const std::size_t differ = mine.size() - part.head - part.tail;
  if (2 * differ > mine.size()) part.whole = channel;
  else part.keys.assign(mine.begin() + static_cast<std::ptrdiff_t>(part.head), mine.begin() + static_cast<std::ptrdiff_t>(part.head + differ));
  return part;
}

show::ChannelPtr Packed::channel_of(const Part& part, const show::Show& beside) {
  if (part.whole) return part.whole;
  const show::ChannelPtr& other = beside.channels[part.of];
  if (part.shared) return other;
  show::Channel channel{other->control, {}};
  channel.keys.reserve(part.head + part.keys.size() + part.tail);
  channel.keys.insert(channel.keys.end(), other->keys.begin(), other->keys.begin() + static_cast<std::ptrdiff_t>(part.head));
  channel.keys.insert(channel.keys.end(), part.keys.begin(), part.keys.end());
  channel.keys.insert(channel.keys.end(), other->keys.end() - static_cast<std::ptrdiff_t>(part.tail), other->keys.end());
  return std::make_shared<const show::Channel>(std::move(channel));
}

show::ShowPtr Packed::unpack(const show::Show& beside) const {
  if (auto same = same_.lock()) return same;
  show::Show show = rest_;
  show.channels.reserve(channels_.size());
  for (const Part& part : channels_) show.channels.push_back(channel_of(part, beside));
  return std::make_shared<const show::Show>(std::move(show));
}

void Packed::set_paths(const std::string& rig_file, const std::vector<show::Sound>& sounds) {
  rest_ = with_paths(std::move(rest_), rig_file, sounds);
  same_.reset();
}

show::Show with_paths(show::Show show, const std::string& rig_file, const std::vector<show::Sound>& sounds) {
  show.rig_file = rig_file;
  for (std::size_t i = 0; i < show.sounds.size() && i < sounds.size(); ++i) show.sounds[i].file = sounds[i].file;
  return show;
}

}  // namespace mien::editor
