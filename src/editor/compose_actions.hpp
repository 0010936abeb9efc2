// What the actions of the menu Compose do, and when they are possible: layers, clips and poses as they are chosen in their lists.
#pragma once
#include "show/layer.hpp"

namespace mien::editor {

class Studio;

show::LayerPtr chosen_layer(const Studio& studio);  ///< null where there is none, as the next
show::ClipPtr chosen_clip(const Studio& studio);

bool has_layer(const Studio& studio);
bool can_raise_layer(const Studio& studio);
bool can_lower_layer(const Studio& studio);
bool can_open_layer(const Studio& studio);
bool can_bake(const Studio& studio);
bool has_clip(const Studio& studio);
bool can_place_clip(const Studio& studio);
bool can_open_clip(const Studio& studio);
bool has_placement(const Studio& studio);
bool has_pose(const Studio& studio);
bool in_part(const Studio& studio);  ///< whether lanes show a clip's or layer's keys

void add_layer(Studio& studio);
void add_idle_layer(Studio& studio);
void raise_layer(Studio& studio);
void lower_layer(Studio& studio);
void mute_layer(Studio& studio);
void open_layer(Studio& studio);
void bake_layer(Studio& studio);
void remove_layer(Studio& studio);
void make_clip(Studio& studio);
void place_clip(Studio& studio);   ///< on the chosen layer, or on a new one
void open_clip(Studio& studio);
void mirror_clip(Studio& studio);
void remove_clip(Studio& studio);
void remove_placement(Studio& studio);
void back_to_show(Studio& studio);
void key_pose(Studio& studio);        ///< at the playhead, by the view's weight and group
void capture_pose(Studio& studio);    ///< what the controls stand at now, as a new one
void recapture_pose(Studio& studio);  ///< the same for the chosen one
void mirror_pose(Studio& studio);
void remove_pose(Studio& studio);

}  // namespace mien::editor
