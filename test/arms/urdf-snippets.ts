/** Pieces of URDF text for tests. */
export const joint = (name: string, parent: string, child: string, inside = "", type = "revolute") =>
  `<joint name="${name}" type="${type}"><parent link="${parent}"/><child link="${child}"/>${inside}</joint>`;
export const limit = '<limit lower="-1" upper="2" velocity="3" effort="4"/>';
export const link = (name: string, inside = "") => `<link name="${name}">${inside}</link>`;
export const robot = (...lines: string[]) => `<robot name="r">\n${lines.join("\n")}\n</robot>`;
const inertial = (mass: number, inside = "") =>
  `<inertial>${inside}<mass value="${mass}"/><inertia ixx="1" ixy="0.1" ixz="0.2" iyy="2" iyz="0.3" izz="2.5"/></inertial>`;

/** A three-joint arm whose last part can be replaced. */
export const threeJoints = (...more: string[]) =>
  robot(
    link("base"),
    link("a", inertial(1)),
    link("b", inertial(2)),
    link("c", inertial(3)),
    joint("j1", "base", "a", limit),
    joint("j2", "a", "b", `<origin xyz="0 0 0.5" rpy="0 0 1.5707963267948966"/><axis xyz="0 0 2"/>${limit}`),
    joint("j3", "b", "c", `<axis xyz="0 1 0"/>${limit}`, "prismatic"),
    ...more,
  );
